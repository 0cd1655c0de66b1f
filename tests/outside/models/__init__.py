"""Other people's models read, with a table of what came out."""

"""A project: the rooms of a building in one file, each a spec of its own."""

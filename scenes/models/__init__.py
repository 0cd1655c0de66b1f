"""The architect's files, in and out: models and drawings read into rooms, rooms written back."""

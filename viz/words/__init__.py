"""Findings as English and numbers as text: the one place of either.

`locale` turns numbers into text and looks messages up, `english` holds every message by its name, and
each other module says one topic: finding and locale in, text or a record of texts out. Whoever prints,
draws or writes shows fields of these records and formats nothing.
"""

"""The demo rooms: an invented building, Millrace House, with invented people and arrays."""

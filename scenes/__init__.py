"""Rooms: what a spec file says, what it means, and every question asked of it."""

"""The room judged as it stands."""

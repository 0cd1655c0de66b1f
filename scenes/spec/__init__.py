"""What a spec file says: reading, checking, writing back."""

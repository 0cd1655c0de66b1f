"""Clearance rules asked of an array, wherever it hangs."""

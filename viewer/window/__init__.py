"""The desktop window on a box."""

"""Boxes that break a limit, however few: the likeliest of them, and how many there are."""

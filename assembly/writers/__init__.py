"""Files for other programs: each is written beside its place, checked, then moved into it."""

"""Which few changes together would make enough boxes of a class come out good, and what they cost."""

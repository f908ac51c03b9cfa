"""Nominal and as-made parts as solids; the geometry kernel is loaded here and in `assembly.writers` only."""

"""Nominal and as-made parts in numbers, as meshes and as exact solids; `kernel` alone loads the exact kernel."""

"""Results in words, tables, plots and data."""

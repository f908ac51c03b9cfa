"""What is shown, as arrays, names and words; nothing is drawn."""

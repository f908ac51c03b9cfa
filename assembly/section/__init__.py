"""Does another timber section still make a sound joint: figures, rows, verdict and cure."""

"""The flat plaque, and a strip to try its bend on, as contours for a machine that cuts and engraves."""

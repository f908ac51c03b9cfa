"""Does this timber section still make a sound joint: bond, tongue, screws, seasons, and the verdict over them."""

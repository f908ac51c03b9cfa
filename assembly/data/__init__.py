"""Published values, each row with its source, and what reads them."""

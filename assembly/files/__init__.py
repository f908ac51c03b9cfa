"""From TOML files to records, or to every fault at once with its line and cure."""

"""The answer on a timber section, in words, tables and data."""

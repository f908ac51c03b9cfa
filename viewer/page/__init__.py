"""The box as one file for a browser: the turning view, the parts and the making, step by step."""

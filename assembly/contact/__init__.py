"""Parts pressed together until they close as far as they can: the contact programme and its solver."""

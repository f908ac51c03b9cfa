"""The limit case: of all errors within their limits those that open a joint most, searched for and proved."""

"""The same design, but ...: one record for every change, and how it is applied to a design and its workshop."""

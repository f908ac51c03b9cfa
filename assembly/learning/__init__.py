"""What a class learns from measured parts: readings, their likelihood, the posterior, and what it says."""

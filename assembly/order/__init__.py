"""What a class buys, and how it is sawn out of what is on sale."""

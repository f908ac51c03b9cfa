"""What does not go together in a design or a workshop, each rule with its cure."""

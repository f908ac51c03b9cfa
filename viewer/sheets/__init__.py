"""What is printed: marking-out sheets, the assembly page, full-size templates and the teacher's edition."""

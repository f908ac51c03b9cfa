"""What a small lap-jointed box is, how it is made, how it comes out, and how it looks as a solid."""

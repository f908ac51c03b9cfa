"""What is to be made, how it is made, and what is read off it: frozen records."""

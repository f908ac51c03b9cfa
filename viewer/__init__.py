"""How people see a box: words, pictures and the command line."""

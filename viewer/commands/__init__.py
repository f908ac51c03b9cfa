"""What the commands do, each in a few steps; heavy libraries are imported where they are needed."""

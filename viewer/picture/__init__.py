"""Pictures: laid out, drawn off screen and lettered."""

"""What `--json` prints, as typed records; their schema ships beside the designs and says what every key holds."""

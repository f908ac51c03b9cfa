"""The commands as they are typed: each takes its words and passes them on to `viewer.commands`."""

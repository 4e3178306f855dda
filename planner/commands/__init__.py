"""The commands, by what they are for."""

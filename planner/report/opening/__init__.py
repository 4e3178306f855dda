"""The opening of the wall, for the carpenter."""

"""The page: a whole plan in one file."""

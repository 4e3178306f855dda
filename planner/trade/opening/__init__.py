"""Where a board wall is opened, and what is cut for it."""

"""What people read: dependency report, day by day, board, page, text."""

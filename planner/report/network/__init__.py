"""What waits for what, drawn."""

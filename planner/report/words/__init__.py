"""What the commands print, and the dependency report."""

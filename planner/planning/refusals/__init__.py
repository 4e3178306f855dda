"""What no plan can do, told before the search."""

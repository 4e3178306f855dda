"""Ways to back the wall behind the modules."""

"""Ways to prime and to colour."""

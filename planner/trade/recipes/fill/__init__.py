"""Ways to anchor to the floor and fill the hollow."""

"""A first plan, by placing one task after another."""

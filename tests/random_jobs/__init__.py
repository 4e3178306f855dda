"""Whole jobs at random, and what must be true of each: the same by seed."""

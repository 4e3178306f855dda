"""Who and what is open when, on one grid of whole ticks."""

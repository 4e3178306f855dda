"""Aim by aim to the best plan, with bounds and limits."""

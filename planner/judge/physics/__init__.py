"""The judge's own laws of air and of hardening."""

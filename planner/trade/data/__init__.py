"""Rates, products and proofs of dryness, each number with its source."""

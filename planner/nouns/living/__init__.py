"""Nouns of the living job: what changes for whom."""

"""The nouns of an instance and of its outcome."""

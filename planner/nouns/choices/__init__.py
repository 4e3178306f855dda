"""The nouns of what a person may choose between."""

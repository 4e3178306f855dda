"""The nouns of the house: frozen records that every room speaks in."""

"""In which languages people are told things: English, and catalogues of others."""

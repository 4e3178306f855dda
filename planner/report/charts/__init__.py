"""The room's air and open hours as pictures."""

"""The board: surfaces from bare to colour, and all that holds them."""

"""What is lifted, how heavy it is, and how many people that takes."""

"""Every rule once more in plain Python, and what a plan comes to."""

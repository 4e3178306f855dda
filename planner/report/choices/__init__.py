"""Pages and pictures of what a person may choose between."""

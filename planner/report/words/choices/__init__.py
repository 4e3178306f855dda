"""What a person may choose between, as it is printed."""

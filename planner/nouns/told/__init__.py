"""What a plan says, kept so that other languages can say it."""

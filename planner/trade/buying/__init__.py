"""What the work uses up and what is bought."""

"""Ways to bring a stage back sooner that a job file can say, tried unasked."""

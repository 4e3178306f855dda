"""The job file: TOML in words of the trade becomes a job, or all its faults."""

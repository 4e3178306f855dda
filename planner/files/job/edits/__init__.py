"""Changes to a job file as people say them, and job files with them kept."""

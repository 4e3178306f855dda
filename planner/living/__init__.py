"""The living job: what was logged, and what follows from it for the plan."""

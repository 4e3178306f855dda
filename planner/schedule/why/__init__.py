"""Why this date, how much slack, and why no plan."""

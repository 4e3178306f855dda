"""The plan's folder, and plan.json in it."""

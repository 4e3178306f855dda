"""The calendars as written, and in which language, against what the plan says."""

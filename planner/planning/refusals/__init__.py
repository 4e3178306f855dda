"""Reasons why a job can't be planned, told before the search where possible."""

"""A plan as calendars, before they are written."""

"""Calendars on a server: a plan's entries put there and compared with what lies there."""

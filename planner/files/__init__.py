"""The only code that knows people's file formats: TOML, iCalendar, CSV, JSON."""

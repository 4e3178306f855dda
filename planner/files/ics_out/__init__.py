"""Calendar files out: entries become iCalendar bytes with steady identities."""

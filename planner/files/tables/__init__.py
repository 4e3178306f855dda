"""Tables for other programs: readings in, and air, hours and quantities out."""

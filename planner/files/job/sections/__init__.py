"""The sections of a job file as models: keys, units, bounds, defaults."""

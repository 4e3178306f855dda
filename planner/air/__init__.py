"""The room's air hour by hour, and how long each coat waits in it."""

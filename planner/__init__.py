"""covetime plans the work, the waits and the closure of a curved studio backdrop."""

__version__ = "0.1.0"

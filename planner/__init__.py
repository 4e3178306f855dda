"""covetime plans the work, the waits and the closure of a curved studio backdrop."""

"""The use case of `compare`: alternatives read, planned side by side, gathered."""

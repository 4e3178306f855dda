"""A job that has begun, in the instance: what happened, and coats that were looked at."""

"""The work, the air and the open hours become an instance, and its answer a plan."""

"""Work, air and open hours become an instance, and its answer a plan."""

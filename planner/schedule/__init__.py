"""A whole-number instance, its solver, its explanations and its checker."""

"""Benchmarks of the engine: published instances, generated jobs, peers, one command."""

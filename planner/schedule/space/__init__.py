"""The search space: team options, their starts and ends, and windows narrowed before any search."""

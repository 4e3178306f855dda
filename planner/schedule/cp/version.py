"""Which solver it is, told without loading it: that takes half a second."""

from importlib.metadata import version

SOLVER = f"OR-Tools {version('ortools')} CP-SAT"

"""The solver's name and version, told without loading the solver, which takes time."""

from importlib.metadata import version

SOLVER = f"OR-Tools {version('ortools')} CP-SAT"

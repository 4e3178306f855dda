"""The use case of `check`: read the job and set up the problem, without solving it."""

from pathlib import Path

from planner.nouns.inputs import Inputs
from planner.planning.posing import problem_of
from planner.planning.problem import Problem
from planner.usecases.read import read_inputs


def read_problem(path: Path, *, weeks: int = 6) -> tuple[Inputs, Problem]:
    """Return what was read and the problem it poses, without solving it."""
    inputs = read_inputs(path)
    return inputs, problem_of(inputs, weeks=weeks)

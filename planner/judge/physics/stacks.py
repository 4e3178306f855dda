"""Compound that was laid over compound still wet: its water, followed to the last.

The water of such a stack leaves from its face, the lowest coat's first; a coat's own
hours begin when it is laid, or when what lies below it has dried, if that is later.
"""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from planner.judge.case import JudgedPlan
from planner.judge.physics.hardening import Floats
from planner.nouns.plan import PlannedTask

IN_ORDER = ("setting-coat", "drying-coat", "topping-coat", "skim-coat")
MOST_WET = 4  # coats wet on one another


def bed(case: JudgedPlan) -> tuple[str, str] | None:
    """Return the compound that tape is bedded in and how far it hardens uncovered.

    That of the first coat, for paper; mesh has no bed.
    """
    m = case.job.methods
    if m.tape == "mesh":
        return None
    if not m.setting_coats:
        return m.drying, "dry"
    return m.setting, "set" if m.next_coat_after == "set" else "dry"


def compound(case: JudgedPlan, bay: str) -> list[PlannedTask]:
    """Return the coats of compound of a bay, the lowest first."""
    return [t for work in IN_ORDER for t in case.of(work, bay)]


def stacks(case: JudgedPlan, bay: str) -> list[list[PlannedTask]]:
    """Return the coats of a bay by what may be wet together, the lowest first."""
    out: list[list[PlannedTask]] = []
    soft = case.job.methods.next_coat_after == "set"
    for below, coat in pairwise([None, *compound(case, bay)]):
        assert coat is not None
        on_wet = (
            below is not None
            and soft
            and below.phase == "setting-coat"
            and coat.phase != "skim-coat"
            and len(out[-1]) < MOST_WET
        )
        if on_wet:
            out[-1].append(coat)
        else:
            out.append([coat])
    return out


def stack_of(case: JudgedPlan, task: PlannedTask) -> list[PlannedTask]:
    """Return a task's coat with those that may lie over it wet; another task alone."""
    if task.phase not in IN_ORDER or len(task.bays) != 1:
        return [task]
    for coats in stacks(case, task.bays[0]):
        if task in coats:
            return coats[coats.index(task) :]
    return [task]


def dried(ends: Sequence[int], passed: Sequence[Floats], hair: float) -> int:
    """Return the tick by which the last coat of a stack is dry.

    `ends` are the ticks at which the coats were finished; `passed` says of each how
    many times over it would have dried alone since the first tick, the last tick of
    the grid standing for everything later.
    """
    free = 0.0
    for end, done in zip(ends, passed, strict=True):
        last = done.size - 1
        begins = max(float(end), free)
        if begins >= last:
            return last
        ticks = np.arange(done.size)
        goal = float(np.interp(begins, ticks, done)) + 1.0 - hair
        tick = int(np.searchsorted(done, goal))
        if tick > last:
            return last
        before = float(done[tick - 1])
        free = tick - 1 + (goal - before) / max(float(done[tick]) - before, 1e-12)
    return int(np.ceil(free - 1e-9))

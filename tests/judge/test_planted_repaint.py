"""Faults planted in a repaint: the judge names each of them.

Tests of planner/judge/methods.py, planner/judge/sequence.py, planner/judge/returns.py,
planner/judge/told.py, planner/judge/safety.py.
"""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from planner.judge import judged
from planner.nouns.job import Survey
from tests.support.judge import (
    SMALL,
    case_of,
    in_plan,
    job,
    moved,
    named,
    part,
    task,
    with_list,
    without,
)
from tests.support.values import changed, job_file

HOUR = timedelta(hours=1)
TEXT = changed(SMALL, ("[survey]", "[repaint]\ncoats = 2\n[survey]"))


@pytest.fixture(scope="module")
def case(tmp_path_factory):
    folder = tmp_path_factory.mktemp("repaint")
    return case_of(job_file(folder, TEXT), 0.02)


def unlinked(before, after):
    """Take a link out of the plan."""

    def spoil(case):
        links = [
            x
            for x in in_plan(case[1], "links")
            if not (x.before.endswith(f":{before}") and x.after.endswith(f":{after}"))
        ]
        assert len(links) < len(case[1].links)
        return with_list(case, "links", links)

    return spoil


def reminded(id_, **changes):
    def spoil(case):
        told = [
            replace(r, **changes) if r.id == id_ else r
            for r in in_plan(case[1], "reminders")
        ]
        return with_list(case, "reminders", told)

    return spoil


def test_the_plan_is_sound(case):
    assert judged(*case) == ()


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (without("clear"), "clear (apron, corner, long, short): ordered, but not"),
        (without("wipe"), "wipe (apron, corner, long, short): ordered, but not"),
        (without("cover"), "cover (apron, corner, long, short): ordered, but not"),
        (without("scuff.apron"), "scuff (apron): ordered, but not in the plan"),
        (without("colour-2"), "colour, coat 2 (apron, corner, long, short): ordered"),
        (without("handover"), "handover"),
        (part("repaint", coats=1), "colour, coat 2 (apron, corner, long, short): in"),
        (part("repaint", area="floor"), "clear (apron): ordered, but not in the plan"),
        (job(repaint=None), "intake: ordered, but not in the plan"),
        (moved("clear", 400 * HOUR), '"Clean and scuff the floor, apron": begins'),
        (moved("scuff.apron", 400 * HOUR), '"Wipe down": begins'),
        (moved("wipe", 400 * HOUR), '"Cover and mask": begins'),
        (moved("cover", 400 * HOUR), '"Colour coat 1": begins'),
        (moved("colour-2", 400 * HOUR), '"Hand over": begins'),
        (unlinked("cover", "colour-1"), '"Colour coat 1": nothing in the plan says'),
        (unlinked("wipe", "colour-1"), "\"Colour coat 1\": the plan doesn't say that"),
        (unlinked("clear", "wipe"), "\"Wipe down\": the plan doesn't say that"),
        (task("clear", product=None), '"Clear and wash": lays None, the job says damp'),
        (task("clear", wet_m2=0.0), '"Clear and wash": covers no area'),
        (task("clear", cautions=()), '"Clear and wash": nothing is said of'),
        (task("cover", cautions=()), '"Cover and mask": nothing is said of "Ladder'),
        (
            reminded("heavy", day=date(2027, 1, 1)),
            "before and after: heavy is told for 2027-01-01",
        ),
        (
            reminded("feet", id="sign"),
            "before and after: sign is no reminder that this job has reason for",
        ),
        (reminded("feet", id="sign"), "before and after: nothing is said of feet"),
        (job(survey=Survey()), "survey: ordered, but not in the plan"),
    ],
)  # fmt: skip
def test_a_planted_fault_is_named(case, spoil, words):
    named(spoil(case), words)

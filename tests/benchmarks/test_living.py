"""A job played evening by evening: what must hold in each play, and how plays are summed up.

Tests of planner/usecases/living/revise.py, planner/usecases/living/left.py,
planner/usecases/living/learning.py, planner/promise/playing.py,
planner/report/page/stage.py.
"""

from datetime import UTC, datetime, timedelta

import pytest

from tests.benchmarks.living import OnePlay, World
from tests.benchmarks.living_told import (
    Evening,
    Outcome,
    line_of,
    outcomes_in,
    summary,
)

DAY = timedelta(days=1)
FIRST = datetime(2027, 3, 1, 8, tzinfo=UTC)


def evening(days: int, promise: int | None, *heard: str, **shifts: int) -> Evening:
    return Evening(
        now=FIRST + days * DAY,
        promise=None if promise is None else FIRST + promise * DAY,
        called=shifts.get("called", 2),
        kept=shifts.get("kept", 2),
        anew=shifts.get("anew"),
        heard=heard,
    )


PLAYS = [
    Outcome(number=0, first=FIRST, back=FIRST - DAY, faults=(),
            evenings=(evening(-3, 0), evening(-2, -2, kept=1))),
    Outcome(number=1, first=FIRST, back=FIRST + DAY, faults=("a fault",),
            evenings=(evening(-3, 0, "booked"), evening(-1, 2, "late", anew=1))),
    Outcome(number=2, first=FIRST, back=FIRST + DAY, faults=(),
            evenings=(evening(-1, 0), evening(1, 2))),
]  # fmt: skip


def test_plays_are_summed_up_as_counted_by_hand() -> None:
    """Kept; broken by a booking, and told the day before; broken and told too late."""
    assert list(summary(PLAYS)) == [
        "3 plays, 6 revisions",
        "heard of: 1 booked, 1 late",
        "breaches: 1 ['a fault']",
        # of the second play it isn't asked: a booking came after it
        "first promise kept: 1 of 2, 0.500 +- 0.354",
        # 2 of 3, of the day 0 twice and of -2; 1 of 2, of 0 after the booking and of 2;
        # 1 of 3, of 0 twice and of 2
        "promise of an evening kept, mean of the plays: 0.500 +- 0.079",
        # of the day -2, of 0 twice; only the third play's wasn't told before its day
        "broken, and told before its day: 2 of 3",
        "called shifts that survive: 11 of 12",
        "on evenings on which nothing befell: 7 of 8",
        "where compared: 2 of 2 near, 1 anew",
    ]


def test_a_play_is_a_line_that_can_be_read_again(tmp_path) -> None:
    path = tmp_path / "plays.jsonl"
    path.write_text("".join(f"{line_of(o)}\n" for o in PLAYS), encoding="utf-8")
    assert outcomes_in(path) == PLAYS
    assert outcomes_in(tmp_path / "none.jsonl") == []


@pytest.mark.slow
def test_a_play_breaks_no_rule_and_keeps_the_shifts_that_were_called() -> None:
    """Nothing in the past, no coat on one known as wet, calendars equal to the plan."""
    outcome = OnePlay(World(plays=4), 2).outcome()
    assert outcome.faults == ()
    assert len(outcome.evenings) >= 5
    assert outcome.back > outcome.evenings[0].now
    called = sum(e.called for e in outcome.evenings)
    assert called > 0
    assert sum(e.kept for e in outcome.evenings) >= 0.8 * called

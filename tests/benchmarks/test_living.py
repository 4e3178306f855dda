"""A job played evening by evening: what must hold in each play, and how plays are summed up.

Tests of planner/usecases/living/revise.py, planner/usecases/living/left.py,
planner/usecases/living/learning.py, planner/promise/playing.py,
planner/report/page/stage.py.
"""

from datetime import UTC, datetime, timedelta

import pytest

from tests.benchmarks.living import Evening, OnePlay, Outcome, World, summary

DAY = timedelta(days=1)
FIRST = datetime(2027, 3, 1, 8, tzinfo=UTC)


def evening(days: int, promise: int | None, **shifts: int) -> Evening:
    return Evening(
        now=FIRST + days * DAY,
        promise=None if promise is None else FIRST + promise * DAY,
        called=shifts.get("called", 2),
        kept=shifts.get("kept", 2),
        anew=shifts.get("anew"),
    )


def test_plays_are_summed_up_as_counted_by_hand() -> None:
    """Kept; broken but told the day before; broken and told too late."""
    plays = [
        Outcome(number=0, first=FIRST, back=FIRST - DAY, faults=(),
                evenings=(evening(-3, 0), evening(-2, -2, kept=1))),
        Outcome(number=1, first=FIRST, back=FIRST + DAY, faults=("a fault",),
                evenings=(evening(-3, 0), evening(-1, 2, anew=1))),
        Outcome(number=2, first=FIRST, back=FIRST + DAY, faults=(),
                evenings=(evening(-1, 0), evening(1, 2))),
    ]  # fmt: skip
    assert list(summary(plays)) == [
        "3 plays, 6 revisions",
        "breaches: 1 ['a fault']",
        "first promise kept: 1 of 3",
        # kept by the promises of days 0, 2 and 2 of those of 0, -2, 0, 2, 0, 2
        "promise of an evening kept: 0.500 of 6",
        "broken, and told before its day: 1 of 2",
        "called shifts that survive: 11 of 12",
        "where compared: 2 of 2 near, 1 anew",
    ]


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

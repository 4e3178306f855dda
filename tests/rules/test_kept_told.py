"""What a plan that was made to be kept is weighed against, as its remarks tell it.

Offers are made up; days are those of the site, in Halifax, from 8 February 2027 on.

Tests of planner/promise/wording.py.
"""

from datetime import UTC, datetime, timedelta
from types import SimpleNamespace
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from planner.nouns.protection import UNPROTECTED, Offer, Protection
from planner.promise.keeping import KeptPlan
from planner.promise.wording import NO_OTHER, cut_short_words, kept_words

HALIFAX = ZoneInfo("America/Halifax")
FIRST = datetime(2027, 2, 8, 9, tzinfo=HALIFAX)
JOB: Any = SimpleNamespace(zone=HALIFAX)


def day(number: float) -> datetime:
    """Return a moment so many days after Monday 8 February, 9:00, in UTC."""
    return (FIRST + timedelta(days=number)).astimezone(UTC)


def offer(
    promised: float | None,
    closed: int | None,
    *,
    planned: float = 7.0,
    begins: float = 0.0,
    shifts: int = 10,
) -> Offer:
    return Offer(
        protection=UNPROTECTED if planned == 7.0 else Protection(labour_frac=0.1),
        closed_from=day(begins),
        planned=day(planned),
        promised=None if promised is None else day(promised),
        closed_days=closed,
        expected_days=9.0,
        expected_cost=None,
        shifts=shifts,
        idle_min=0,
    )


def words(chosen: Offer, first: Offer, *others: Offer) -> tuple[str, ...]:
    nothing: Any = None
    best = KeptPlan(
        percent=80,
        answer=nothing,
        promised=chosen.promised,
        offer=chosen,
        unprotected=first,
        trade=(first, chosen, *others),
    )
    return kept_words(best, JOB)


def test_where_none_is_kept_earlier_that_is_said():
    one = offer(9, 10)
    assert words(one, one) == (NO_OTHER,)


def test_the_earliest_plan_is_told_by_its_planned_return_and_what_it_would_promise():
    said = words(offer(9, 10, planned=8), offer(11, 9))
    assert said == (
        "Made to be kept: the plan that returns the earliest if all goes as planned, "
        "Mon 15 Feb 2027, would be closed from Mon 8 Feb 2027, back by Fri 19 Feb 2027 "
        "in 80 of 100 cases, 9 days closed, 10 shifts; for 1 day more closed this one "
        "brings the promise 2 days forward",
    )


def test_a_plan_that_returns_no_earlier_is_told_by_its_closure():
    (said,) = words(offer(9, 9, shifts=11), offer(10, 9))
    assert said.startswith(
        "Made to be kept: the plan with the shortest planned closure would be closed"
    )


@pytest.mark.parametrize(
    ("promised", "closed", "gain"),
    [
        (10, 7, "; for 3 days more closed this one brings the promise 1 day forward"),
        (10, 10, "; this one brings the promise 1 day forward, no more days closed"),
        (10, 11, "; this one brings the promise 1 day forward, 1 day fewer closed"),
        (11, 12, "; this one brings the promise 2 days forward, 2 days fewer closed"),
        (9, 12, ""),  # the same day
        (9.3, 12, ""),  # later on the same day
        (8, 12, ""),  # sooner
    ],
)
def test_what_is_given_for_the_promise_is_told_by_days_of_the_site(
    promised, closed, gain
):
    (said,) = words(offer(9, 10, planned=8), offer(promised, closed))
    assert said.endswith(f"{closed} days closed, 10 shifts{gain}")


def test_of_what_nobody_looked_at_so_far_nothing_is_traded():
    (said,) = words(offer(9, 10, planned=8), offer(None, None))
    assert said.endswith("back later than is looked at in 80 of 100 cases, 10 shifts")
    (said,) = words(offer(None, None, planned=8), offer(9, 10))
    assert said.endswith(
        "Wed 17 Feb 2027 in 80 of 100 cases, 10 days closed, 10 shifts"
    )


def test_two_others_are_told_besides_and_no_more():
    more = [offer(9 + n, 8, planned=8 + n, shifts=7 - n) for n in (1, 2, 3)]
    said = words(offer(9, 10, planned=8), offer(12, 9), *more)
    assert [w.partition(" would be ")[0] for w in said[1:]] == [
        "Made to be kept: another plan",
        "Made to be kept: another plan",
    ]
    assert [w.partition(" shifts")[0][-1] for w in said[1:]] == ["6", "5"]


def test_what_was_left_out_is_told_with_the_reason_once_the_search_is_over():
    best: Any = SimpleNamespace(cut_short=True)
    whole: Any = SimpleNamespace(cut_short=False)
    few: Any = SimpleNamespace(futures=500, threats=())
    all_: Any = SimpleNamespace(futures=10_000, threats=("pace",))
    assert cut_short_words("clock limit", all_, whole, keep=True) == ()
    assert cut_short_words("", few, best, keep=True) == ()
    assert cut_short_words("clock limit", few, best, keep=True) == (
        "Cut short: time was up, so not all plans that may be kept more often were "
        "looked at, 500 futures were played instead of 10,000, what threatens the dates "
        "wasn't told apart",
    )
    assert cut_short_words("interrupted", all_, None, keep=True) == (
        "Cut short: the search was stopped, so no plan that is kept more often was "
        "looked for",
    )
    assert cut_short_words("interrupted", all_, None, keep=False) == ()

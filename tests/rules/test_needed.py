"""A refusal's facts clash and each has a part; what is needed is told beside what is there.

Each job is the small wall of `tests/support/side_by_side.py` with something that leaves
no plan. Whether one is left without a fact is asked of the engine and its checker, of the
instance with that fact alone taken out.

Tests of planner/planning/refusals/needed.py, planner/planning/refusals/air_limits.py.
"""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from planner.air.limits import breaks_by_limit, found_by_limit
from planner.errors import NoPlanError
from planner.measures import Units
from planner.nouns.product import Air, AirLimits
from planner.planning.answering import answer
from planner.planning.posing import problem_of
from planner.planning.refusals.needed import free_between, without_bookings
from planner.planning.refusals.no_plan import EXPLAINED_WEEKS
from planner.planning.searching import Search
from planner.schedule.check.verify import verify
from planner.schedule.climb.solve import solve
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.limits import SearchLimits
from planner.schedule.problem.outcome import NoPlan, Planned
from planner.schedule.why.relaxing import all_facts, lift
from planner.usecases.read import Papers
from tests.support.ics import calendar, event, put
from tests.support.side_by_side import SMALL
from tests.support.values import changed, job_file

Planted = Callable[[Path], str]
SEARCH = Search(limits=SearchLimits())


def shows(folder: Path) -> str:
    """A show each Sunday: the stage is never free for longer than six days."""
    show = event(
        "SUMMARY:Sunday show",
        "DTSTART;TZID=America/Halifax:20270207T160000",
        "DTEND;TZID=America/Halifax:20270207T230000",
        "RRULE:FREQ=WEEKLY",
        uid="show",
    )
    put(folder, calendar(show), "shows.ics")
    return changed(SMALL, ("[stage]", '[stage]\nbookings = ["shows.ics"]'))


def all_day(first: str, last: str, uid: str) -> str:
    days = f"DTSTART;VALUE=DATE:{first}", f"DTEND;VALUE=DATE:{last}"
    return event(f"SUMMARY:{uid}", *days, uid=uid)


def chain(folder: Path) -> str:
    """The stage is let from 1 March on, and Ana, who leads most, is away until then."""
    put(folder, calendar(all_day("20270301", "20280601", "long hire")), "stage.ics")
    put(folder, calendar(all_day("20270201", "20270224", "leave")), "ana.ics")
    return changed(
        SMALL,
        ("[stage]", '[stage]\nbookings = ["stage.ics"]'),
        ('name = "Ana"', 'name = "Ana"\ncalendar = "ana.ics"'),
    )


def two_hires(folder: Path) -> str:
    """Two hires with a week between them, each an entry of its own."""
    hires = (
        all_day("20270208", "20270301", "first hire"),
        all_day("20270307", "20280601", "second hire"),
    )
    put(folder, calendar(*hires), "stage.ics")
    return changed(SMALL, ("[stage]", '[stage]\nbookings = ["stage.ics"]'))


def crates(folder: Path) -> str:
    """The crates come on a Sunday, when nobody of the crew works."""
    return changed(SMALL, ("[survey]", "delivery = 2027-02-14T10:00:00\n[survey]"))


def quiet(folder: Path) -> str:
    """No noise while anybody works."""
    hours = event(
        "SUMMARY:recording",
        "DTSTART;TZID=America/Halifax:20270201T060000",
        "DTEND;TZID=America/Halifax:20270201T210000",
        "RRULE:FREQ=DAILY",
        uid="quiet",
    )
    put(folder, calendar(hours), "quiet.ics")
    return changed(SMALL, ("[stage]", '[stage]\nquiet = ["quiet.ics"]'))


def refusal(folder: Path, planted: Planted) -> tuple[NoPlanError, Instance]:
    """Return the refusal of a planted job, and the instance in which it was explained."""
    papers = Papers(job_file(folder, planted(folder)))
    with pytest.raises(NoPlanError) as error:
        answer(papers.case(), SEARCH)
    problem = problem_of(papers.inputs(), weeks=EXPLAINED_WEEKS)
    return error.value, problem.instance


def has_plan(instance: Instance) -> bool:
    """Tell whether there is a plan that the checker passes; anything else is proven."""
    bare = replace(instance, aims=())
    found = solve(bare, explain=False)
    if isinstance(found, Planned):
        assert verify(bare, found.placements) == ()
        return True
    assert isinstance(found, NoPlan)
    return False


def clashes_and_no_fact_is_idle(folder: Path, planted: Planted) -> NoPlanError:
    error, instance = refusal(folder, planted)
    assert error.facts
    assert error.not_shown == ""
    rest = set(all_facts(instance)) - set(error.facts)
    assert not has_plan(lift(instance, rest)), "what is named doesn't clash by itself"
    for fact in error.facts:
        assert has_plan(lift(instance, rest | {fact})), f"{fact} has no part in it"
    return error


@pytest.mark.slow
def test_a_series_that_leaves_no_time_long_enough_is_told_with_both_times(tmp_path):
    error = clashes_and_no_fact_is_idle(tmp_path, shows)
    assert error.facts == ("booking:shows.ics:show",)
    (needed,) = error.needed
    # from Sunday 23:00 to Sunday 16:00
    assert (
        'it is free for 6 days 17 h then, until "Sunday show" (shows.ics) on' in needed
    )
    assert needed.endswith(
        "; it is never free for more than 6 days 17 h between bookings"
    )
    assert error.helps == ()  # the booking by itself: it was named


@pytest.mark.slow
@pytest.mark.parametrize("planted", [chain, two_hires, crates])
def test_without_any_one_of_the_facts_named_there_is_a_plan(tmp_path, planted):
    error = clashes_and_no_fact_is_idle(tmp_path, planted)
    kinds = {fact.partition(":")[0] for fact in error.facts}
    assert (
        kinds
        >= {
            chain: {"booking", "person"},
            two_hires: {"booking"},
            crates: {"delivery", "person"},
        }[planted]
    )
    if planted is crates:
        (needed,) = error.needed
        assert 'by 2 people for "Open the crates", on the day that they come' in needed
        assert "Ana 0 h, no shift; Bo 0 h, no shift" in needed


@pytest.mark.slow
def test_quiet_hours_in_all_hours_of_the_crew_are_named_before_any_search(tmp_path):
    error, instance = refusal(tmp_path, quiet)
    assert error.facts == ("nobody", "quiet:quiet.ics", "person:ana", "person:bo")
    assert all("in the quiet hours of quiet.ics" in c for c in error.conflict)
    assert not has_plan(lift(instance, set(all_facts(instance)) - set(error.facts)))
    assert has_plan(lift(instance, ["quiet:quiet.ics"]))


# ------------------------------------------------------------------- times that are free


def test_times_that_are_free_end_with_a_booking_and_an_open_end_is_none(tmp_path):
    inputs = Papers(job_file(tmp_path, shows(tmp_path))).inputs()
    free = free_between(problem_of(inputs, weeks=6))
    # of six weeks from Monday 8 February: the first night is before the job's, and the
    # clocks go forward on 14 March
    hours = [f.length.total_seconds() / 3600 for f in free]
    assert hours == [6 * 24 + 16, *[6 * 24 + 17] * 3, 6 * 24 + 16, 6 * 24 + 17]
    assert f"{free[1].start:%a %d %b %H:%M}" == "Mon 15 Feb 03:00"  # UTC
    assert [f.before is None for f in free] == [True, *[False] * 5]
    left = without_bookings(inputs, free[1].start).hours.bookings
    assert [b.end for b in left if b.end > free[1].start] == []
    none = Papers(job_file(tmp_path, SMALL)).inputs()
    assert free_between(problem_of(none, weeks=6)) == ()


# -------------------------------------------------------------------- air that there is


def test_of_four_limits_the_one_that_breaks_is_named_with_the_air_there_is(tmp_path):
    """At 20 °C and 84 % the dew point is 17.2 °C: the primer wants 3 K, there are 2.8.

    By the Magnus formula: ln 0.84 + 17.62 x 20 / (243.12 + 20) = 1.1650; times 243.12,
    over 17.62 - 1.1650, makes 17.2 °C.
    """
    text = changed(SMALL, ("[methods]", '[methods]\nprimer = "solvent-primer"'))
    air = '\n[air]\ntemperature = "20 C"\nhumidity = "84 %"\n'
    papers = Papers(job_file(tmp_path, text + air))
    with pytest.raises(NoPlanError) as error:
        answer(papers.case(), SEARCH)
    primer = [c for c in error.value.conflict if "primer" in c]
    assert len(primer) == 1
    assert "surface 3.0 °C (5.4 °F) or more above the dew point until dry" in primer[0]
    assert "relative humidity or less" not in primer[0]
    assert "10 °C" not in primer[0]
    assert primer[0].endswith("; surfaces are 2.8 °C (5.0 °F) above the dew point")


def test_the_air_there_is_is_told_for_each_limit_that_is_asked():
    air = Air(
        tick_minutes=60,
        air_c=np.array([8.0, 12.0]),
        humidity_pct=np.array([50.0, 60.0]),
        units=Units.METRIC,
    )
    limits = AirLimits(min_c=10.0, max_rh_pct=55.0)
    assert found_by_limit(limits, air).keys() == breaks_by_limit(limits, air).keys()
    surfaces, room = found_by_limit(limits, air).values()
    assert surfaces == "surfaces are at 8 °C (46 °F) to 12 °C (54 °F)"
    assert room == "the room is at 50 % to 60 %"

"""Random small jobs made easier in one thing, and the best return of each.

Whatever is eased, every plan of the harder job stands in the easier one too, so the
easier one's return may stay or come sooner, and never later.
"""

import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import time
from functools import cache
from pathlib import Path
from random import Random
from typing import TypeVar

from planner.nouns import product
from planner.nouns.inputs import Inputs
from planner.nouns.job import CrewMember, Shift
from planner.planning.posing import problem_of
from planner.schedule.check.verify import verify
from planner.schedule.climb.solve import solve
from planner.schedule.problem.limits import SearchLimits
from planner.schedule.problem.outcome import NoPlan, Planned
from planner.schedule.problem.parts import AimKind
from planner.usecases.read import read_inputs
from tests.random_jobs.jobs import made_job

Row = TypeVar("Row")

WEEKS = 6
LIMITS = SearchLimits(work=1.0)
Ease = Callable[[Random, Inputs], Inputs | None]  # None: the job has nothing to ease


@dataclass(frozen=True, slots=True, kw_only=True)
class Best:
    """The earliest return found, in ticks; None: there is no plan in those weeks.

    `certain`: nothing better exists.
    """

    tick: int | None
    certain: bool


@cache
def small_inputs(seed: int) -> Inputs:
    """Return what is read of a seed's small job."""
    with tempfile.TemporaryDirectory() as folder:
        return read_inputs(made_job(seed, small=True).write(Path(folder)))


def best(inputs: Inputs) -> Best:
    """Return the earliest return to full service of a job."""
    instance = problem_of(inputs, weeks=WEEKS).instance
    instance = replace(instance, aims=(AimKind.LAST_RETURN,))
    found = solve(instance, limits=LIMITS, explain=False)
    if isinstance(found, Planned):
        assert verify(instance, found.placements) == ()
        aim = found.aims[0]
        return Best(tick=aim.value, certain=aim.proven)
    return Best(tick=None, certain=isinstance(found, NoPlan))


@cache
def best_of(seed: int) -> Best:
    """Return the earliest return of a seed's small job as it is."""
    return best(small_inputs(seed))


def returns(seed: int, name: str) -> tuple[int, int | None] | None:
    """Return the tick of return before and after easing; None: nothing to compare.

    The later one is None where no plan is left at all.
    """
    inputs = small_inputs(seed)
    eased = EASED[name](Random(f"{name} {seed}"), inputs)
    before = best_of(seed).tick
    if eased is None or before is None:
        return None
    after = best(eased)
    return (before, after.tick) if after.certain else None


def returns_by_day(seed: int, ends: Sequence[int]) -> list[Best]:
    """Return the best returns where everybody works from eight to each of some hours.

    That is on every day, with the usual rest of 11 hours, which is longer than the
    night where the day ends late.
    """
    inputs, out = small_inputs(seed), []
    for end in ends:
        day = Shift(weekdays=tuple(range(7)), hours=((time(8), time(end)),))
        crew = tuple(replace(p, shifts=(day,), rest_h=11.0) for p in inputs.job.crew)
        out.append(best(_with_job(inputs, crew=crew)))
    return out


# ----------------------------------------------------------------- what is eased


def _with_job(inputs: Inputs, **changes: object) -> Inputs:
    return replace(inputs, job=replace(inputs.job, **changes))  # type: ignore[arg-type]


def _with_person(inputs: Inputs, person: CrewMember, changed: CrewMember) -> Inputs:
    crew = tuple(changed if p is person else p for p in inputs.job.crew)
    return _with_job(inputs, crew=crew)


def _an_hour_later_home(r: Random, inputs: Inputs) -> Inputs | None:
    """Let somebody's last hours of a shift's day go on for an hour, every day."""
    person = r.choice(inputs.job.crew)
    shift = r.choice(person.shifts)
    start, end = shift.hours[-1]
    if end <= start or end.hour >= 23 or len(person.shifts) > 1:
        return None
    later = replace(
        shift, hours=(*shift.hours[:-1], (start, time(end.hour + 1, end.minute)))
    )
    return _with_person(inputs, person, replace(person, shifts=(later,)))


def _a_day_more(r: Random, inputs: Inputs) -> Inputs | None:
    """Let somebody come on a weekday on which nobody asked for them."""
    person = r.choice(inputs.job.crew)
    shift = person.shifts[0]
    free = [d for d in range(7) if all(d not in s.weekdays for s in person.shifts)]
    if not free:
        return None
    wider = replace(shift, weekdays=tuple(sorted((*shift.weekdays, r.choice(free)))))
    return _with_person(
        inputs, person, replace(person, shifts=(wider, *person.shifts[1:]))
    )


def _no_break(r: Random, inputs: Inputs) -> Inputs | None:
    """Let somebody work through the first break of a shift."""
    person = r.choice(inputs.job.crew)
    shift = person.shifts[0]
    if len(shift.hours) < 2:
        return None
    (a, _), (_, b), *rest = shift.hours
    through = replace(shift, hours=((a, b), *rest))
    return _with_person(
        inputs, person, replace(person, shifts=(through, *person.shifts[1:]))
    )


def _an_entry_fewer(r: Random, inputs: Inputs) -> Inputs | None:
    """Take one stretch out of somebody's calendar."""
    taken = {p: b for p, b in inputs.hours.people.items() if b}
    if not taken:
        return None
    who = r.choice(sorted(taken))
    people = {**inputs.hours.people, who: _fewer(r, taken[who])}
    return replace(inputs, hours=replace(inputs.hours, people=people))


def _a_booking_fewer(r: Random, inputs: Inputs) -> Inputs | None:
    if not (booked := inputs.hours.bookings):
        return None
    return replace(inputs, hours=replace(inputs.hours, bookings=_fewer(r, booked)))


def _a_quiet_stretch_fewer(r: Random, inputs: Inputs) -> Inputs | None:
    if not (quiet := inputs.hours.quiet):
        return None
    return replace(inputs, hours=replace(inputs.hours, quiet=_fewer(r, quiet)))


def _a_holiday_fewer(r: Random, inputs: Inputs) -> Inputs | None:
    if not (days := inputs.hours.holidays):
        return None
    return replace(inputs, hours=replace(inputs.hours, holidays=_fewer(r, days)))


def _fewer(r: Random, rows: tuple[Row, ...]) -> tuple[Row, ...]:
    """Return the rows without one of them."""
    gone = r.randrange(len(rows))
    return rows[:gone] + rows[gone + 1 :]


def _one_more(r: Random, inputs: Inputs) -> Inputs:
    """Add somebody who knows one or all trades and keeps somebody's shifts."""
    every = ("carpenter", "finisher", "painter", "labourer")
    other = replace(
        r.choice(inputs.job.crew),
        id="zoe",
        name="Zoe",
        calendar=None,
        trades=r.choice((every, (r.choice(every),))),
    )
    return _with_job(inputs, crew=(*inputs.job.crew, other))


def _a_trade_more(r: Random, inputs: Inputs) -> Inputs | None:
    every = {"carpenter", "finisher", "painter", "labourer"}
    person = r.choice(inputs.job.crew)
    new = sorted(every - set(person.trades))
    if not new:
        return None
    trades = (*person.trades, r.choice(new))
    return _with_person(inputs, person, replace(person, trades=trades))


def _less_rest(r: Random, inputs: Inputs) -> Inputs:
    person = r.choice(inputs.job.crew)
    return _with_person(inputs, person, replace(person, rest_h=person.rest_h / 2))


def _a_shorter_margin(_: Random, inputs: Inputs) -> Inputs | None:
    margin = inputs.job.margin_frac
    return _with_job(inputs, margin_frac=margin / 2) if margin else None


def _next_coat_once_set(_: Random, inputs: Inputs) -> Inputs | None:
    methods = inputs.job.methods
    if methods.next_coat_after == "set" or not methods.setting_coats:
        return None
    return _with_job(inputs, methods=replace(methods, next_coat_after="set"))


def _looser_limits(_: Random, inputs: Inputs) -> Inputs:
    """Let every product bear more cold, warmth and damp."""

    def looser(limits: product.AirLimits) -> product.AirLimits:
        return replace(
            limits,
            min_c=None if limits.min_c is None else limits.min_c - 4.0,
            max_c=None if limits.max_c is None else limits.max_c + 4.0,
            max_rh_pct=None if limits.max_rh_pct is None else limits.max_rh_pct + 8.0,
            min_c_before_h=limits.min_c_before_h / 2,
        )

    products = {
        k: replace(p, limits=looser(p.limits)) for k, p in inputs.products.items()
    }
    return replace(inputs, products=products)


def _the_building_always_open(_: Random, inputs: Inputs) -> Inputs | None:
    return (
        None if inputs.job.stage_hours is None else _with_job(inputs, stage_hours=None)
    )


def _crates_any_day(_: Random, inputs: Inputs) -> Inputs | None:
    return None if inputs.job.delivery is None else _with_job(inputs, delivery=None)


EASED: dict[str, Ease] = {
    "an hour later home": _an_hour_later_home,
    "a weekday more": _a_day_more,
    "no break": _no_break,
    "an entry fewer": _an_entry_fewer,
    "a booking fewer": _a_booking_fewer,
    "a quiet stretch fewer": _a_quiet_stretch_fewer,
    "a holiday fewer": _a_holiday_fewer,
    "one person more": _one_more,
    "a trade more": _a_trade_more,
    "less rest": _less_rest,
    "a shorter margin": _a_shorter_margin,
    "next coat once set": _next_coat_once_set,
    "looser limits": _looser_limits,
    "the building always open": _the_building_always_open,
    "crates any day": _crates_any_day,
}

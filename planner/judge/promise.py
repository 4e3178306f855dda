"""What a plan promises, as far as it can be judged without playing its futures.

Chances and dates come of the same futures, so they must agree with each other: a date
that is later than another is kept no less often, and a booking before the promise finds
the stage closed more often than the promise is broken.
"""

import tomllib
from collections.abc import Iterator, Mapping
from datetime import UTC, date, datetime, timedelta
from functools import cache
from importlib.resources import files

from planner.judge.case import JudgedPlan
from planner.nouns.odds import Collision, Factor, PlannedReturn, Spread, Threat
from planner.nouns.plan import PlannedStage
from planner.nouns.work import ReturnKind

LATEST_PERCENT = (
    95  # until when it is tentative, where the promise isn't surer (README)
)
_FAR = datetime.max.replace(tzinfo=UTC)  # later than was looked at
HAIR = 2e-4  # chances are written to a tenth of a thousandth
# The numbers of a spread by their names in the job file's [odds].
NUMBERS = {
    "pace_job": "pace",
    "pace_work": "pace_by_work",
    "pace_task": "pace_by_task",
    "waits_job": "waits",
    "waits_coat": "waits_by_coat",
    "air_delta_k": "temperature",
    "air_delta_rh_pct": "humidity",
    "air_memory_h": "air_memory",
    "late_chance": "late_crates",
    "late_h": "late_by",
    "damaged_chance": "damaged_pieces",
    "replaced_h": "replaced_in",
    "overrun_chance": "booking_late",
    "overrun_h": "booking_late_by",
    "away_chance": "away",
    "touch_up_h": "touch_up",
}


def faults(case: JudgedPlan) -> Iterator[str]:
    """Yield what a plan promises otherwise than its job asks, or in no way that can be."""
    stage = case.plan.stage
    yield from _basis(case, stage)
    yield from _spread(case, stage)
    yield from _wanted(case, stage)
    yield from _bound(stage)
    if stage.sureness.futures < 1:
        yield "the promise: it comes of no futures"
        return
    for back in stage.returns:
        yield from _return(case, stage, back)
    yield from _bookings(case, stage)


def promised_days(case: JudgedPlan) -> int | None:
    """Return on how many days the stage is closed by the promise; None: not known."""
    stage = case.plan.stage
    full = _of(stage, ReturnKind.FULL_SERVICE)
    if full is None or full.promise is None:
        return None
    last = (full.promise - timedelta(seconds=1)).astimezone(case.zone).date()
    return (last - _first_day(case, stage)).days + 1


def _first_day(case: JudgedPlan, stage: PlannedStage) -> date:
    return stage.closure[0].astimezone(case.zone).date()


def _of(stage: PlannedStage, kind: ReturnKind) -> PlannedReturn | None:
    return next((r for r in stage.returns if r.kind is kind), None)


def _basis(case: JudgedPlan, stage: PlannedStage) -> Iterator[str]:
    """Yield where the promise isn't as sure as the job asks, or rests on nothing."""
    said, asked = stage.sureness, case.job.sure_percent
    if said.sure_percent != asked:
        yield f"the promise: kept in {said.sure_percent} %, the job asks for {asked} %"
    late = LATEST_PERCENT if asked < LATEST_PERCENT else asked
    if said.tentative_percent != late:
        yield f"the promise: tentative until {said.tentative_percent} %, not {late} %"
    told = [t.threat for t in said.threats]
    if told and sorted(told) != sorted(_can_threaten(said.spread)):
        yield "the promise: not each of what threatens it is told once"


def _can_threaten(spread: Spread) -> Iterator[Threat]:
    """Yield what is told of as a threat: some things only where the job's odds have them."""
    chances = {
        Threat.DAMAGE: spread.damaged_chance,
        Threat.BOOKING: spread.overrun_chance,
    }
    for threat in Threat:
        if chances.get(threat, 1.0) > 0.0:
            yield threat


def _bound(stage: PlannedStage) -> Iterator[str]:
    """Yield where what no plan could promise isn't told of the promise, or in no order."""
    bound = stage.sureness.bound
    if bound is None:
        return
    if bound.percent != stage.sureness.sure_percent or bound.futures < 1:
        yield "what no plan could promise: not as sure as the promise"
    low, when, high = (t or _FAR for t in (bound.low, bound.when, bound.high))
    if when > high or (bound.low is not None and low > when):
        yield "what no plan could promise: it lies outside its own error"


def _wanted(case: JudgedPlan, stage: PlannedStage) -> Iterator[str]:
    """Yield where the plan belies by when the stage is wanted back, or how often it is."""
    told, by = stage.sureness.wanted, case.job.back_by
    if told is None or by is None:
        if told is not None or by is not None:
            yield "the promise: it doesn't say whether the stage is back when wanted"
        return
    if told.by != by:
        yield f"the promise: wanted back {case.when(told.by)}, not {case.when(by)}"
    full, often = _of(stage, ReturnKind.FULL_SERVICE), told.frac
    if full is None:
        return
    step = timedelta(seconds=case.step)
    for when, least in (
        (full.when, full.kept_frac),
        (full.promise, stage.sureness.sure_percent / 100.0),
        (full.tentative_until, stage.sureness.tentative_percent / 100.0),
    ):
        if when is not None and by >= when and often < least - HAIR:
            yield f"the promise: back when wanted in {often:.0%}, told too seldom"
        # a promise that is the working plan's date may be kept more often than asked
        above = max(least, full.kept_frac)
        if (when is None or by < when - step) and often > above + HAIR:
            yield f"the promise: back when wanted in {often:.0%}, told too often"


@cache
def _assumed() -> Mapping[str, Factor | float]:
    text = files("planner.trade.data").joinpath("odds.toml").read_text(encoding="utf-8")
    return {
        name: Factor(frac=row["value"]) if row["unit"] == "factor" else row["value"]
        for name, row in tomllib.loads(text).items()
    }


def _spread(case: JudgedPlan, stage: PlannedStage) -> Iterator[str]:
    """Yield figures of the futures that are neither the job's own nor those assumed."""
    told = stage.sureness.spread
    right = {**_assumed(), **dict(case.job.own_odds)}
    for field, name in NUMBERS.items():
        if getattr(told, field) != right[name]:
            yield f"the promise: played with another {name} than the job's [odds]"
    if (told.own_pace, told.own_waits) != (case.job.own_pace, case.job.own_waits):
        yield "the promise: played with another pace or wait than the job's [odds]"
    learned = (case.job.learned_pace, case.job.learned_waits)
    if (told.learned_pace, told.learned_waits) != learned:
        yield "the promise: played with another pace or wait than the log taught"
    if not told.touch_ups:
        yield "the promise: played without touch-ups"


def _return(
    case: JudgedPlan, stage: PlannedStage, back: PlannedReturn
) -> Iterator[str]:
    """Yield dates of a return that can't be promised beside each other."""
    sure = stage.sureness
    dates = (
        ("promise", back.promise, sure.sure_percent),
        ("tentative date", back.tentative_until, sure.tentative_percent),
    )
    least = back.when
    for what, said, percent in dates:
        when = said or _FAR
        if said and (case.at(said) % case.step or said > sure.looked_until):
            yield f"{back.kind}: its {what} is no moment of the futures played"
        if when < least:
            yield f"{back.kind}: its {what} lies before {case.when(least)}"
        least = max(least, when)
        often, asked = back.kept_frac, percent / 100.0
        if when > back.when and often >= asked + HAIR:
            yield f"{back.kind}: kept more often than its {what}, which is later"
        if when == back.when and often < asked - HAIR:
            yield f"{back.kind}: its {what} is kept too seldom, by what the plan says"
    if not 0.0 <= back.kept_frac <= 1.0:
        yield f"{back.kind}: kept in {back.kept_frac} of all futures"
    full = _of(stage, ReturnKind.FULL_SERVICE)
    end = _FAR if full is None else full.promise or _FAR
    if (back.promise or _FAR) > end:
        yield f"{back.kind}: promised after full service"


def _bookings(case: JudgedPlan, stage: PlannedStage) -> Iterator[str]:
    """Yield bookings told with a chance that the promise belies, or that aren't there."""
    full = _of(stage, ReturnKind.FULL_SERVICE)
    read = {(b.start, b.end) for b in case.inputs.hours.bookings}
    told: dict[tuple[datetime, datetime], list[Collision]] = {}
    for one in stage.sureness.collisions:
        told.setdefault((one.start, one.end), []).append(one)
    for start, _ in sorted(set(told) - read):
        yield f"the promise: no booking begins {case.when(start)} that it could meet"
    if full is None or full.promise is None:
        return
    broken = 1.0 - stage.sureness.sure_percent / 100.0
    for start, end in sorted(read):
        if end <= stage.closure[0] or (case.now is not None and start < case.now):
            continue
        chances = [c.frac for c in told.get((start, end), [])]
        often = max(chances, default=0.0)
        where = f"the promise: the booking of {case.when(start)} finds it closed"
        if start >= full.promise and often > broken + HAIR:
            yield f"{where} in {often:.0%}, though it begins after the promise"
        before = start < full.promise - timedelta(seconds=case.step)
        if before and full.when < full.promise and often < broken - HAIR:
            yield f"{where} in {often:.0%}, though it begins before the promise"

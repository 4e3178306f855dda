"""What a plan says besides its tasks: closed hours, purchases, tools, what holds it."""

import math
import re
from collections.abc import Iterator
from datetime import date, datetime, timedelta

from planner.judge.case import JudgedPlan
from planner.judge.rates import JudgedRate
from planner.judge.work import Works
from planner.nouns.calendar import Busy
from planner.nouns.plan import Taken
from planner.nouns.product import HardeningWay, Product
from planner.nouns.used import UsedProduct
from planner.nouns.work import ReturnKind

ALWAYS = {
    *("survey", "order", "sign", "protect", "waste"),
    *("feet", "trolleys", "heavy", "removal"),
}
COLOURED = ("colour", "second-colour", "spot-colour")
HEAVY_H = 168.0  # 7 days after the last colour coat before tape and heavy point loads
OF_A_REPAINT = {"waste", "feet", "trolleys", "heavy"}  # where nothing is built
AT_THE_WALL = {
    *("mark", "open", "back", "fur", "board", "plug", "frame-fix", "shoot", "fasten"),
}
ROUNDING = 5e-4  # of what is written to four digits
MOST_SLOWED = 1.4 * 1.25  # above ten feet, in the coves
SHOWN_M, SHOWN_OTHER = 0.06, 0.6  # how far a quantity in words may be rounded


def faults(case: JudgedPlan, works: Works) -> Iterator[str]:
    """Yield what the plan tells otherwise than the job's facts."""
    yield from _products(case)
    yield from _entries(
        case, "bookings", case.plan.stage.bookings, case.inputs.hours.bookings
    )
    yield from _entries(
        case, "quiet hours", case.plan.stage.quiet, case.inputs.hours.quiet
    )
    shown = case.within(case.seconds(case.plan.stage.shut))
    if (shown != works.shut).any():
        yield "the building's shut hours are told wrong"
    yield from _readings(case)
    yield from _quantities(case, works)
    yield from _supplies(case)
    yield from _tools(case)
    yield from _chain(case)
    yield from _around(case)


def _products(case: JudgedPlan) -> Iterator[str]:
    """Yield products whose laws, numbers or limits the plan tells wrong."""
    told = {p.id: p for p in case.plan.products}
    laid = {t.product for t in case.plan.tasks if t.product}
    for missing in sorted(laid - set(told)):
        yield f"{missing}: is laid, but not among the plan's products"
    for used in told.values():
        product = case.inputs.products.get(used.id)
        if product is None or _as_told(used) != _as_known(
            product, case.job.margin_frac
        ):
            yield f"{used.title}: the plan tells its laws or limits wrong"
        yield from _room_of(case, used)


def _room_of(case: JudgedPlan, used: UsedProduct) -> Iterator[str]:
    """Yield drying times that leave out the modules' faces or the air's movement."""
    survey = case.job.survey
    took = {"wall-sample": survey.results_h, "services": survey.isolated_h}
    for stage in used.stages:
        if stage.numbers.get("hours_h") != took.get(
            used.id, stage.numbers.get("hours_h")
        ):
            yield f"{used.title}: the job says that it takes {took[used.id]:g} h"
    compound = used.kind in ("setting compound", "drying compound")
    ground = max(case.job.kit.drying_times, 1.0) if compound else 1.0
    for stage in used.stages:
        if stage.law not in ("drying_table", "water_film"):
            continue
        if stage.numbers.get("ground_times", 1.0) != ground:
            yield (
                f"{used.title}: dries {ground:g} times as long on the modules as on "
                "board, the plan says otherwise"
            )
        if stage.numbers.get("air_m_s", 0.0) != case.job.air_m_s:
            yield f"{used.title}: the plan has other air moving over it than the job"


def _as_told(p: UsedProduct) -> object:
    limits = (p.min_c, p.max_c, p.max_rh_pct, p.dew_margin_delta_k, p.min_c_before_h)
    stages = [
        (s.stage, s.way, s.law, dict(s.numbers), s.margin_frac, s.after)
        for s in p.stages
    ]
    latest = [(x.name, x.law, dict(x.numbers)) for x in p.latest]
    return (p.title, p.kind, p.thickness_mm, limits, stages, latest)


def _as_known(p: Product, margin_frac: float) -> object:
    x = p.limits
    limits = (x.min_c, x.max_c, x.max_rh_pct, x.dew_margin_delta_k, x.min_c_before_h)
    stages = [
        (
            s.stage,
            s.way.value,
            s.law,
            dict(s.numbers),
            margin_frac if s.way in (HardeningWay.DRIES, HardeningWay.CLEARS) else 0.0,
            s.after.stage if s.after else None,
        )
        for s in p.stages
    ]
    latest = [(y.name, y.law, dict(y.numbers)) for y in p.latest]
    return (p.title, p.kind, p.thickness_mm, limits, stages, latest)


def _entries(
    case: JudgedPlan, what: str, told: tuple[Taken, ...], read: tuple[Busy, ...]
) -> Iterator[str]:
    """Yield calendar entries that the plan shows and that aren't, or that it leaves out."""
    last = case.ticks * case.step
    wanted = {
        (case.at(b.start), case.at(b.end))
        for b in read
        if case.at(b.end) > 0 and case.at(b.start) < last and b.start < b.end
    }
    shown = {(case.at(t.start), case.at(t.end)) for t in told}
    for start, end in sorted(wanted ^ shown):
        stretch = case.span((case.moment(start), case.moment(end)))
        yield f"{what}: the plan tells them otherwise than the calendars, {stretch}"


def _readings(case: JudgedPlan) -> Iterator[str]:
    count = len(case.plan.stage.air.air_c)
    wanted = sum(
        0 <= (r.when - case.start) / timedelta(seconds=case.step) < count
        for r in case.inputs.readings
    )
    if wanted != len(case.plan.stage.air.readings):
        yield f"{len(case.plan.stage.air.readings)} readings are told, {wanted} were taken"


# ------------------------------------------------------------------ quantities


def _amount(words: str, unit: str) -> tuple[float, float] | None:
    """Return an amount in words, and how far it may be rounded: '24 ft (7.3 m) of wall'.

    The metric measure counts, which stands first where that is the job's.
    """
    metric = re.search(r"(?:^|\()([\d.]+) m²?(?:\)| \()", words)
    if unit.startswith("m") and metric:
        digits = metric[1].partition(".")[2]
        return float(metric[1]), 0.6 * 10.0 ** -len(digits)
    plain = re.match(r"[\d.]+", words)
    return (float(plain[0]), SHOWN_M) if plain else None


def _quantities(case: JudgedPlan, works: Works) -> Iterator[str]:
    """Yield labour that isn't the crew's hours for the amount that a task names."""
    marked = 0.0
    for task in case.plan.tasks:
        rate = works.rates.get(task.phase)
        amount = _amount(task.quantity, rate.unit) if rate else None
        if rate is None or amount is None:
            yield f'"{task.title}": "{task.quantity}" is no amount of its kind of work'
            continue
        size, off = amount
        if task.phase == "mark":
            marked += size
        own_h = task.person_hours
        if task.phase == "set-corner" and case.job.methods.lifting == "singly":
            # Of its pieces one is the corner's own, the others are bolted to each other.
            own_h -= works.rates["join-uprights"].hours * max(size - 2, 0)
        yield from _hours(task.title, own_h, rate, size, off)
    stage = case.job.stage
    if case.job.repaint is not None:
        return
    walls = sum(r.length_mm for r in stage.runs) / 1000.0
    bays = len(stage.runs) + len(stage.corners)
    least = walls - 0.0254 * len(stage.runs) - SHOWN_M * bays
    if not least <= marked <= walls + SHOWN_M * bays:
        yield f"{marked:.1f} m of wall are marked out, the runs are {walls:.1f} m long"


def _hours(
    title: str, person_hours: float, rate: JudgedRate, size: float, off: float
) -> Iterator[str]:
    least = rate.hours * max(size - off, 0.0)
    most = rate.hours * (size + off) * MOST_SLOWED
    if rate.in_portions:  # mixing comes on top, as often as the air asks for
        most = math.inf
    if not least - ROUNDING <= person_hours <= most + ROUNDING:
        yield (
            f'"{title}": {person_hours:.2f} h of labour isn\'t {rate.hours:g} h for '
            f"each of {size:g} {rate.unit}"
        )


# ------------------------------------------------------------ purchases, tools


def _supplies(case: JudgedPlan) -> Iterator[str]:
    """Yield purchases that come too late, or whose sums are wrong."""
    for supply in case.plan.supplies:
        used = [case.tasks.get(u.task) for u in supply.uses]
        if not used or None in used:
            yield f"{supply.title}: is bought for tasks that aren't in the plan"
            continue
        first = min(t.start for t in used if t is not None)
        if supply.first_use != first:
            yield f"{supply.title}: first needed {case.when(first)}, told otherwise"
        latest = (first - timedelta(hours=supply.lead_h)).astimezone(case.zone).date()
        if supply.on_site is None or supply.on_site > latest:
            yield f"{supply.title}: on site {supply.on_site}, it must be by {latest}"
        total = sum(u.net for u in supply.uses)
        if abs(total - supply.net) > ROUNDING * (1 + len(used)):
            yield f"{supply.title}: its uses don't add up to {supply.net:g}"
        whole = supply.net * (1.0 + supply.waste_frac)
        if abs(whole - supply.with_waste) > ROUNDING * (1 + whole):
            yield f"{supply.title}: the waste is reckoned wrong"
        if supply.packs * supply.pack_holds < supply.with_waste - ROUNDING:
            yield f"{supply.title}: {supply.packs} packs hold less than is needed"


def _tools(case: JudgedPlan) -> Iterator[str]:
    """Yield tools that aren't there on every day on which their tasks are worked."""
    for tool in case.plan.tools:
        days = {
            moment.astimezone(case.zone).date()
            for id_ in tool.tasks
            if id_ in case.tasks
            for a, b in case.tasks[id_].spans
            for moment in (a, b - timedelta(seconds=1))
        }
        if set(tool.days) != days:
            yield f"{tool.title}: is told for other days than its work"
        if any(not any(a <= d <= b for a, b in tool.periods) for d in days):
            yield f"{tool.title}: isn't there on a day on which it is needed"


# --------------------------------------------------------------------- chain


def _chain(case: JudgedPlan) -> Iterator[str]:
    """Yield steps of what holds the date that nothing in the plan bears out."""
    links = {(x.before, x.after) for x in case.plan.links}
    in_time = {(w.before, w.after) for w in case.plan.windows}
    links |= in_time
    before: datetime | None = None
    for step in case.plan.stage.chain:
        task = case.tasks.get(step.task)
        if task is None:
            yield f"what holds the date names no task: {step.task}"
            continue
        if step.held_from > task.start:
            yield f'what holds the date: "{task.title}" is held from after its start'
        if (
            step.cause == "link"
            and not {(step.by, step.task), (step.task, step.by)} & links
        ):
            yield f'what holds the date: "{task.title}" doesn\'t follow {step.by}'
        # A bed is laid no sooner than what must cover it in time can begin.
        waits_for_later = (step.task, step.by) in in_time
        if before is not None and task.start < before and not waits_for_later:
            yield f'what holds the date goes back in time at "{task.title}"'
        before = task.start


# ---------------------------------------------------------- before and after


def _around(case: JudgedPlan) -> Iterator[str]:
    """Yield reminders that the plan lacks, has for nothing, or puts on a wrong day."""
    told = {r.id: r for r in case.plan.reminders}
    wanted = ALWAYS | ({"behind"} if case.job.stage.behind else set())
    if case.job.repaint is not None:
        wanted = OF_A_REPAINT
    for missing in sorted(wanted - set(told)):
        yield f"before and after: nothing is said of {missing}"
    for more in sorted(set(told) - wanted):
        yield f"before and after: {more} is no reminder that this job has reason for"
    for id_, day in _around_days(case).items():
        if id_ in told and told[id_].day != day:
            yield f"before and after: {id_} is told for {told[id_].day}, it is {day}"
    behind = told["behind"].words if "behind" in told else ""
    for one in case.job.stage.behind if case.job.repaint is None else ():
        if one.what not in behind:
            yield f"before and after: the {one.what} behind the cove is not told"


def _around_days(case: JudgedPlan) -> dict[str, date | None]:
    """Return the day of each reminder by the job's facts and the plan's tasks.

    Of a plan that lacks what they go by nothing is told here: that is named elsewhere.
    """
    plan, zone = case.plan, case.zone
    intakes = [t for t in plan.tasks if t.phase == "intake"]
    coloured = [t.end for t in plan.tasks if t.phase in COLOURED]
    back = {r.kind: r for r in plan.stage.returns}

    def promised(moment: datetime | None, later_h: float = 0.0) -> date | None:
        if moment is None:
            return None
        return (moment + timedelta(hours=later_h)).astimezone(zone).date()

    builds = case.job.repaint is None
    if (builds and not intakes) or not coloured or set(back) != set(ReturnKind):
        return {}
    come = case.job.delivery or (intakes[0].start if intakes else None)
    order = None
    if case.job.order_lead_h is not None and come is not None:
        order = promised(come, -case.job.order_lead_h)
    light, full = back[ReturnKind.LIGHT_FOOT_TRAFFIC], back[ReturnKind.FULL_SERVICE]
    hard_h = (max(coloured) + timedelta(hours=HEAVY_H) - full.when) / timedelta(hours=1)
    first = min((t.start for t in plan.tasks if t.on_stage), default=full.when)

    days: dict[str, date | None] = {
        "survey": order,
        "order": order,
        "sign": promised(come),
        "protect": first.astimezone(zone).date(),
        "feet": promised(light.promise),
        "trolleys": promised(full.promise),
        "heavy": promised(full.promise, max(hard_h, 0.0)),
    }
    if touching := [t.start for t in plan.tasks if t.phase in AT_THE_WALL]:
        days["behind"] = min(touching).astimezone(zone).date()
    return days

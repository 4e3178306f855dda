"""Finished plans made without the solver: one task after another, one person each.

The days are worked from 08:00 to 16:00 at the site, Monday to Friday. Every number of
such a plan follows from the steps below and can be worked out by hand.
"""

from dataclasses import fields, replace
from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from typing import Any
from zoneinfo import ZoneInfo

from planner.nouns import plan as nouns
from planner.nouns.ids import bare
from planner.nouns.odds import (
    PlannedReturn,
    Sureness,
    Threat,
    ThreatOdds,
)
from planner.nouns.purchase import Cost, PlannedSupply, SupplyUse, ToolDays
from planner.nouns.used import UsedProduct, UsedStage
from planner.nouns.work import ReturnKind
from tests.support.odds import ORDINARY

HALIFAX = ZoneInfo("America/Halifax")
FIRST = date(2027, 2, 8)  # a Monday
OPEN_H, SHUT_H = 8, 16
TICK = timedelta(minutes=15)

# phase, title, product, stage that the next step waits for, hours it lasts
STEPS: tuple[tuple[str, str, str | None, str | None, float], ...] = (
    ("mark", "Mark out", None, None, 0),
    ("open", "Open the wall", None, None, 0),
    ("back", "Fix the backing", None, None, 0),
    ("set", "Set the modules", None, None, 0),
    ("anchor", "Anchor to the floor", "glue", "hold", 2),
    ("tape", "Tape", None, None, 0),
    ("setting-coat", "Setting compound", "quick", "set", 2),
    ("topping-coat", "Topping", "topping", "dry", 20),
    ("rub", "Sand the joints", None, None, 0),
    ("prime", "Primer coat", "primer", "recoat", 4),
    ("colour", "Colour coat", "colour", "recoat", 6),
    ("colour", "Colour coat", "colour", "light foot traffic", 24),
)
WAY = {
    "hold": "cures",
    "set": "sets",
    "light foot traffic": "cures",
    "full service": "cures",
}


def local(day: date, hour: float) -> datetime:
    """Return an instant by its day and hour at the site."""
    wall = datetime.combine(day, time(), tzinfo=HALIFAX) + timedelta(hours=hour)
    return wall.astimezone(UTC)


def _days(count: int) -> list[date]:
    days = (FIRST + timedelta(days=n) for n in range(count))
    return [d for d in days if d.weekday() < 5]


def _next_open(moment: datetime) -> datetime:
    """Return the first moment from here on with a whole hour of work before it ends."""
    at = moment.astimezone(HALIFAX)
    while True:
        start, end = local(at.date(), OPEN_H), local(at.date(), SHUT_H)
        if at.weekday() < 5 and moment + timedelta(hours=1) <= end:
            return max(moment, start)
        at = (at + timedelta(days=1)).replace(hour=0, minute=0)
        moment = local(at.date(), 0)


def changed(plan: nouns.Plan, **changes: Any) -> nouns.Plan:
    """Return a plan with fields of its own, or of its one stage, changed."""
    own = {f.name for f in fields(nouns.Plan)}
    stage = replace(plan.stage, **{k: v for k, v in changes.items() if k not in own})
    kept: dict[str, Any] = {k: v for k, v in changes.items() if k in own}
    return replace(plan, **{"stages": (stage,), **kept})


def made_plan(
    *,
    bays: tuple[str, ...] = ("north", "corner", "east"),
    people: tuple[str, ...] = ("Marisol", "Hedda"),
    job: str = "Tern Street Stage",
    slow: float = 1.0,
    bookings: tuple[nouns.Taken, ...] = (),
    quiet: tuple[nouns.Taken, ...] = (),
    humidity_pct: float = 50.0,
    suffix: str = "",
    stage_id: str = "tern-street",
    job_id: str = "made",
) -> nouns.Plan:
    """Return a plan in which each bay goes through `STEPS`, bay after bay.

    `slow` stretches every wait; `suffix` ends every title; `stage_id` and `job_id` are
    what the stage and its entries are known by.
    """
    tasks: list[nouns.PlannedTask] = []
    waits: list[nouns.PlannedWait] = []
    links: list[nouns.PlannedLink] = []
    at = local(FIRST, OPEN_H)
    ready: dict[str, tuple[str, datetime, str | None, str | None]] = {}
    for number, (phase, title, product, stage, hours) in enumerate(STEPS):
        for n, bay in enumerate(f"{stage_id}:bay-{k}" for k in range(len(bays))):
            before = ready.get(bay)
            start = _next_open(max(at, before[1] if before else at))
            end = start + timedelta(hours=1)
            id_ = f"{stage_id}:{phase}-{number}.{bare(bay)}"
            person = f"p{(number + n) % len(people)}"
            tasks.append(
                _task(
                    id_,
                    stage_id,
                    f"{title}, {bays[n]}{suffix}",
                    phase,
                    bay,
                    start,
                    person,
                )
            )
            if before:
                links.append(
                    nouns.PlannedLink(
                        before=before[0],
                        after=id_,
                        reason="the step before comes first",
                        product=before[2],
                        stage=before[3],
                    )
                )
            over = end + timedelta(hours=hours * slow)
            if product and stage:
                waits.append(_wait(id_, product, stage, end, over))
            ready[bay] = (id_, over, product, stage)
            at = end
    full = max(t.end for t in tasks) + timedelta(hours=72 * slow)
    light = max(r[1] for r in ready.values())
    last = tasks[-1]
    waits.append(_wait(last.id, "colour", "full service", last.end, full))
    closure = (tasks[0].start, full)
    ticks = int((full - local(FIRST, 0)) / TICK) + 1
    days = _days((full.date() - FIRST).days + 8)
    worked = len(tasks) * 60
    here = nouns.PlannedStage(
        id=stage_id,
        job_id=job_id,
        name=job,
        closure=closure,
        returns=(
            _return(ReturnKind.LIGHT_FOOT_TRAFFIC, light),
            _return(ReturnKind.FULL_SERVICE, full),
        ),
        sureness=sureness(full),
        return_terms=(
            nouns.ReturnTerm(
                returning=ReturnKind.LIGHT_FOOT_TRAFFIC,
                task=last.id,
                product="colour",
                stage="light foot traffic",
            ),
            nouns.ReturnTerm(
                returning=ReturnKind.FULL_SERVICE,
                task=last.id,
                product="colour",
                stage="full service",
            ),
        ),
        bays=tuple(
            nouns.PlannedBay(id=f"{stage_id}:bay-{k}", name=n)
            for k, n in enumerate(bays)
        ),
        chain=tuple(_chain(tasks)),
        division=(
            nouns.ClosureShare(part="working", minutes=worked),
            nouns.ClosureShare(
                part="nights and days off",
                minutes=int((full - tasks[0].start).total_seconds() / 60) - worked,
            ),
        ),
        bookings=bookings,
        quiet=quiet,
        shut=(),
        air=nouns.AirSeries(
            start=local(FIRST, 0),
            tick_minutes=15,
            air_c=(20.0,) * ticks,
            humidity_pct=(humidity_pct,) * ticks,
            changes_per_h=(0.3,) * ticks,
            wall_colder_delta_k=0.0,
            readings=(),
            origin=("the same air always",),
        ),
    )
    return nouns.Plan(
        format_version=nouns.FORMAT_VERSION,
        plan_id=job_id,
        job=job,
        zone="America/Halifax",
        program="covetime 0",
        solver="by hand",
        fingerprint="0123456789abcdef" * 4,
        grid_start=local(FIRST, 0),
        grid_ticks=ticks,
        tick_minutes=15,
        margin_frac=0.25,
        stages=(here,),
        tasks=tuple(sorted(tasks, key=lambda t: (t.start, t.end, t.id))),
        waits=tuple(sorted(waits, key=lambda w: (w.begins, w.task, w.ready, w.stage))),
        products=_products(slow),
        links=tuple(links),
        apart=(),
        windows=(),
        aims=(
            nouns.AimOutcome(
                aim="earliest return to full service",
                words="proven: nothing better exists",
                value=1,
                bound=1,
                proven=True,
            ),
        ),
        stopped="",
        crew=tuple(_person(f"p{k}", n, days, tasks) for k, n in enumerate(people)),
        cost=Cost(currency="CAD", stage=1900.0, labour=None, labour_idle=None),
        supplies=_supplies(tasks),
        tools=_tools(tasks),
        assumptions=("job.tick: 15 min",),
        remarks=(),
    )


PROMISED, LATEST = timedelta(days=2), timedelta(days=5)  # after the working plan's


def _return(kind: ReturnKind, when: datetime) -> PlannedReturn:
    return PlannedReturn(
        kind=kind,
        when=when,
        promise=when + PROMISED,
        tentative_until=when + LATEST,
        kept_frac=0.25,
    )


def sureness(full: datetime) -> Sureness:
    """Return what a promise made up by hand rests on; the pace threatens it most."""
    return Sureness(
        sure_percent=80,
        tentative_percent=95,
        futures=10_000,
        seed=1,
        looked_until=full + timedelta(weeks=8),
        spread=ORDINARY,
        collisions=(),
        threats=tuple(
            ThreatOdds(
                threat=threat,
                share_frac=None,
                days=0.0,
                cost=None,
                without=full
                + (timedelta(days=1) if threat is Threat.PACE else PROMISED),
            )
            for threat in Threat
        ),
    )


def _task(
    id_: str, stage: str, title: str, phase: str, bay: str, start: datetime, person: str
) -> nouns.PlannedTask:
    end = start + timedelta(hours=1)
    return nouns.PlannedTask(
        id=id_,
        stage=stage,
        title=title,
        how="As the lead says",
        phase=phase,
        bays=(bay,),
        start=start,
        end=end,
        spans=((start, end),),
        team=(person,),
        lead=("finisher",),
        help=(),
        person_hours=1.0,
        set_up_h=0.0,
        elapsed_h=0.0,
        worked_min=60,
        quantity="1 bay",
        one_go=False,
        on_stage=True,
        loud=False,
        dusty=False,
        fumes=False,
        product=None,
        dry_stage=None,
        wet_m2=0.0,
        total_slack_min=0,
        free_slack_min=0,
        held_by="the step before",
        bring=("gloves",),
        cautions=("Mind the edge",),
        source="from memory",
    )


def _wait(
    task: str, product: str, stage: str, begins: datetime, ready: datetime
) -> nouns.PlannedWait:
    return nouns.PlannedWait(
        task=task,
        product=product,
        product_title=product.capitalize(),
        stage=stage,
        way=WAY.get(stage, "dries"),
        begins=begins,
        ready=ready,
        likely=begins + (ready - begins) * 0.8,
        air_c=20.0,
        humidity_pct=50.0,
        source="by hand",
        source_tag="from memory",
    )


def _supplies(tasks: list[nouns.PlannedTask]) -> tuple[PlannedSupply, ...]:
    """A litre of topping for each of its coats, two days on site before the first."""
    coats = [t for t in tasks if t.phase == "topping-coat"]
    if not coats:
        return ()
    first = min(t.start for t in coats)
    return (
        PlannedSupply(
            id="topping",
            title="Topping",
            product="topping",
            unit="l",
            net=float(len(coats)),
            waste_frac=0.5,
            with_waste=1.5 * len(coats),
            pack="pail of 2 l",
            pack_holds=2.0,
            packs=-(-3 * len(coats) // 4),
            uses=tuple(SupplyUse(task=t.id, net=1.0) for t in coats),
            lead_h=48.0,
            first_use=first,
            on_site=(first - timedelta(hours=48)).astimezone(HALIFAX).date(),
            reckoned=("a litre a coat: by hand",),
        ),
    )


def _tools(tasks: list[nouns.PlannedTask]) -> tuple[ToolDays, ...]:
    """A vacuum sander for all days on which joints are sanded."""
    rubs = [t for t in tasks if t.phase == "rub"]
    if not rubs:
        return ()
    days = sorted({t.start.astimezone(HALIFAX).date() for t in rubs})
    return (
        ToolDays(
            id="sander",
            title="vacuum sander",
            hire=True,
            count=1,
            tasks=tuple(t.id for t in rubs),
            days=tuple(days),
            periods=((days[0], days[-1]),),
            source="by hand",
        ),
    )


def _products(slow: float) -> tuple[UsedProduct, ...]:
    stages: dict[str, dict[str, float]] = {}
    for _, _, product, stage, hours in STEPS:
        if product and stage:
            stages.setdefault(product, {})[stage] = hours * slow
    stages["colour"]["full service"] = 72.0 * slow
    return tuple(
        UsedProduct(
            id=id_,
            title=id_.capitalize(),
            kind=id_,
            thickness_mm=None,
            min_c=10.0,
            max_c=None,
            max_rh_pct=85.0 if id_ in ("primer", "colour") else None,
            dew_margin_delta_k=None,
            min_c_before_h=0.0,
            limits_source="by hand",
            stages=tuple(
                UsedStage(
                    stage=stage,
                    way=WAY.get(stage, "dries"),
                    law="fixed",
                    numbers={"hours_h": hours},
                    margin_frac=0.25,
                    after=None,
                    source="by hand",
                    source_tag="from memory",
                )
                for stage, hours in found.items()
            ),
            latest=(),
        )
        for id_, found in stages.items()
    )


def _chain(tasks: list[nouns.PlannedTask]) -> list[nouns.ChainStep]:
    return [
        nouns.ChainStep(
            task=b.id, cause="link", by=a.id, because="the step before", held_from=a.end
        )
        for a, b in pairwise(tasks)
    ]


def _person(
    id_: str, name: str, days: list[date], tasks: list[nouns.PlannedTask]
) -> nouns.Crewmate:
    shifts = tuple((local(d, OPEN_H), local(d, SHUT_H)) for d in days)
    own = [t for t in tasks if id_ in t.team]
    return nouns.Crewmate(
        id=id_,
        name=name,
        trades=("finisher",),
        rest_h=11.0,
        open=shifts,
        shifts=shifts,
        rests=(),
        taken=(),
        worked_min=60 * len(own),
        idle_min=0,
        days_called=len({t.start.astimezone(HALIFAX).date() for t in own}),
    )

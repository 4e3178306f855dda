"""Faults planted in people, tasks, order and room: the judge names each of them.

Tests of planner/judge/crew.py, planner/judge/lifts.py, planner/judge/methods.py,
planner/judge/physics/stacks.py, planner/judge/safety.py, planner/judge/sequence.py,
planner/judge/stage.py, planner/judge/work.py.
"""

from dataclasses import replace
from datetime import date, time, timedelta

import pytest

from planner.nouns.ids import bare
from planner.nouns.job import Behind, OwnRate
from tests.support.judge import (
    MINUTE,
    both,
    calendars,
    entry,
    job,
    listed,
    moved,
    named,
    of,
    part,
    person,
    placed,
    shortened,
    task,
    with_task,
    without,
)

OUTLET = Behind(what="outlet", run="north", from_start_mm=900.0, height_mm=300.0)
HOUR = timedelta(hours=1)
TICK = timedelta(minutes=15)


def in_three(case):
    """Return the plan with a hole of a tick in its longest pausable stretch."""
    t = max((t for t in case[1].tasks if not t.one_go), key=lambda t: t.end - t.start)
    (start, end), *rest = t.spans
    hole = (start + TICK, start + 2 * TICK)
    spans = ((start, hole[0]), (hole[1], end), *rest)
    return case[0], with_task(case[1], t.id, spans=spans)


def fewer(id_, **changes):
    """Let one of a task's team do it alone."""
    return lambda case: task(id_, team=case[1].task(id_).team[:1], **changes)(case)


def while_worked(id_, *who):
    """Put an entry into the calendars of a task's team while they work at it."""

    def change(case):
        t = case[1].task(id_)
        people = dict(case[0].hours.people)
        for p in who or t.team:
            people[p] = (*people.get(p, ()), entry(t.start, t.start + MINUTE))
        return {"people": people}

    return calendars(change)


def reached(id_, stage):
    """Say when a task's coat alone reaches a stage, by the plan."""

    def when(plan):
        waits = [w for w in plan.waits if bare(w.task) == id_ and w.stage == stage]
        return waits[0].ready

    return when


def other_wait(id_, stage, **changes):
    """Change a wait after a task."""

    def spoil(case):
        waits = case[1].waits
        at = next(
            i for i, w in enumerate(waits) if (bare(w.task), w.stage) == (id_, stage)
        )
        return listed("waits", at, **changes)(case)

    return spoil


def over_stage(what, id_, length=MINUTE, before=timedelta(0)):
    """Put an entry into one of the stage's calendars, at a task's start."""

    def change(case):
        start = case[1].task(id_).start - before
        known = getattr(case[0].hours, what)
        return {what: (*known, entry(start, start + length))}

    return calendars(change)


def holiday(case):
    day = of(case[1], "colour").start.astimezone(case[0].job.zone).date()
    days = (*case[0].hours.holidays, (day, "a new holiday"))
    return calendars(lambda c: {"holidays": days})(case)


def split(id_):
    """Let a task pause in its middle."""

    def spoil(case):
        t = case[1].task(id_)
        (start, end) = t.spans[0]
        spans = ((start, start + TICK), (start + 2 * TICK, end))
        return case[0], with_task(case[1], id_, spans=spans)

    return spoil


def cut(id_, by):
    """End a task sooner (or later) than its labour takes."""

    def spoil(case):
        t = case[1].task(id_)
        end = t.end - by
        spans = (*t.spans[:-1], (t.spans[-1][0], end))
        return case[0], with_task(case[1], id_, end=end, spans=spans)

    return spoil


def longer(case):
    return task("handover", end=case[1].task("handover").end + TICK)(case)


def first_of(phase, **changes):
    return lambda case: task(of(case[1], phase).id, **changes)(case)


def unlinked(before, after):
    """Let the plan not say that one task follows another."""

    def spoil(case):
        kept = tuple(
            x
            for x in case[1].links
            if (bare(x.before), bare(x.after)) != (before, after)
        )
        assert len(kept) < len(case[1].links)
        return case[0], replace(case[1], links=kept)

    return spoil


def dry_stage_gone(case):
    return task(of(case[1], "topping-coat").id, dry_stage=None)(case)


def half_as_long(case):
    own = (OwnRate(work="mark", hours=5.0, set_up_h=None, source="the crew"),)
    return job(own_rates=own)(case)


def rested_long(case):
    """Say that somebody rests over a night that is long enough without."""
    plan = case[1]
    mate = plan.crew[0]
    (_, evening), (morning, _) = mate.shifts[:2]
    night = evening, max(morning, evening + timedelta(hours=mate.rest_h))
    crew = (replace(mate, rests=(night,)), *plan.crew[1:])
    return case[0], replace(plan, crew=crew)


def doubled(case):
    return case[0], replace(case[1], tasks=(*case[1].tasks, case[1].tasks[0]))


def start_of(id_):
    return lambda p: p.task(id_).start


def end_of(id_):
    return lambda p: p.task(id_).end


CORNER = (
    # people
    ("rest over a long night", rested_long, "long enough"),
    ("no setting up", task("tape.north", set_up_h=0.0), "to set up, it takes"),
    ("led by a helper", task("tape.north", team=("marisol",)), "to lead it"),
    ("nobody", task("tape.north", team=()), "nobody does it"),
    ("a stranger", task("tape.north", team=("x", "y")), "none of the crew"),
    ("named twice", task("tape.north", team=("hedda", "hedda")), "named twice"),
    ("a trade lost", person(2, trades=("labourer",)), "has none of its trades"),
    (
        "too many",
        task("lines.north", team=("ignatius", "marisol", "hedda")),
        "a team of",
    ),
    ("lifted alone", fewer("set.north"), "people lift in it, the team is 1"),
    (
        "two places",
        both(
            task("setting-coat-1.north", team=("beatriz",)),
            task("setting-coat-1.east", team=("beatriz",)),
            placed("setting-coat-1.north", start_of("setting-coat-1.east")),
        ),
        "in two places",
    ),
    ("at night", moved("handover", -12 * HOUR), "is not open all of"),
    ("an appointment", while_worked("tape.north"), "is not open all of"),
    ("a holiday", holiday, "is not open all of"),
    ("a day off", person(2, shifts=()), "is not open all of"),
    ("too little rest", person(4, rest_h=40.0), "rests"),
    (
        "open hours shown wrong",
        listed("crew", 0, open=()),
        "open hours are shown wrong",
    ),
    ("trades shown wrong", listed("crew", 0, trades=()), "are not as in the job"),
    ("rest shown wrong", listed("crew", 0, rest_h=1.0), "are not as in the job"),
    ("hours worked", listed("crew", 0, worked_min=1), "are said to be worked"),
    ("shifts called", listed("crew", 0, days_called=99), "are said to be called"),
    ("one missing", shortened("crew"), "missing from the plan's crew"),
    # each task
    (
        "helpers become leads",
        first_of("tape", lead=("finisher", "labourer")),
        "other trades than the labour data",
    ),
    ("not loud", first_of("drill", loud=False), "is loud, the plan errs"),
    ("not dusty", first_of("rub", dusty=False), "is dusty, the plan errs"),
    (
        "off the stage",
        first_of("tape", on_stage=False),
        "is on the stage, the plan errs",
    ),
    ("sanded elsewhere", part("methods", sanding="stage"), "is on the stage, the plan"),
    ("may pause", task("prime-1", one_go=False), "the plan lets it pause"),
    ("pauses", split("prime-1"), "must be done in one go, but pauses"),
    (
        "in one go",
        first_of("mark", one_go=True),
        "may pause, the plan has it in one go",
    ),
    ("never worked", task("handover", spans=()), "is never worked"),
    ("longer than its stretches", longer, "from its start to its end"),
    ("idle", in_three, "though its team is open"),
    ("off the steps", moved("handover", MINUTE), "off the steps of the plan"),
    ("too early", moved("intake", -48 * HOUR), "before the job's earliest day"),
    ("before the crates", moved("intake", -HOUR), "begins before the crates come"),
    ("after the crates", moved("intake", 24 * HOUR), "not on the day the crates come"),
    (
        "building shut",
        job(stage_hours=(time(12), time(12, 15))),
        "the building is shut",
    ),
    (
        "quiet hours",
        over_stage("quiet", "drill.north"),
        "in the quiet hours of other.ics",
    ),
    ("too little labour", cut("rub.north", TICK), "its team gives"),
    ("too much labour", cut("handover", -4 * HOUR), "longer than"),
    ("minutes worked", first_of("tape", worked_min=1), "min said to be worked"),
    ("labour left out", first_of("mark", person_hours=0.1), "h of labour isn't"),
    ("set up told wrong", first_of("mark", set_up_h=0.0), "h to set up, it takes"),
    ("lifters told wrong", task("set.north", lifters=1), "are said to lift in it"),
    ("own hours ignored", half_as_long, "h of labour isn't 5 h for each of"),
    (
        "another amount",
        first_of("floor", quantity="90 ft (27.4 m) of it"),
        "isn't 0.12 h",
    ),
    ("no amount", first_of("floor", quantity="some"), "is no amount"),
    ("twice", doubled, "is in the plan twice"),
    ("unknown work", task("handover", phase="party"), "no kind of work known"),
    # what the job orders
    (
        "a coat left out",
        without("setting-coat-2.north"),
        "ordered, but not in the plan",
    ),
    ("a coat more", part("methods", setting_coats=1), "in the plan, but not ordered"),
    ("primer coats", part("methods", primer_coats=3), "prime, coat 3"),
    ("colour coats", part("methods", colour_coats=1), "colour, coat 2"),
    ("topping coats", part("methods", topping_coats=2), "topping-coat, coat 2"),
    ("bonding agent", part("methods", bonding_agent=True), "bond (north): ordered"),
    ("foam", part("methods", fill="foam"), "foam (north): ordered"),
    ("furred", part("methods", backing="furred"), "fur (north): ordered"),
    ("by bays", part("methods", primer_in="bays"), "prime, coat 1 (north): ordered"),
    (
        "apron bare",
        part("methods", colour_on_apron=False),
        "in the plan, but not ordered",
    ),
    ("no uprights", part("stage", ceiling_mm=920.0), "trim (corner): in the plan"),
    (
        "apron not coloured",
        task(
            "colour-2",
            bays=tuple(f"tern-street-stage:{b}" for b in ("corner", "east", "north")),
        ),
        "colour, coat 2 (apron, corner, east, north): ordered",
    ),
    ("a bay missing", shortened("bays"), "not those of the room"),
    (
        "another primer",
        part("methods", primer="shellac-primer"),
        "the job says shellac",
    ),
    ("air kept too short", task("prime-1", dry_stage=None), "keeps its air until"),
    ("limits of a last coat", dry_stage_gone, 'it must until "dry"'),
    (
        "next coat after dry",
        part("methods", next_coat_after="dry"),
        'it must until "dry"',
    ),
    ("no area", task("prime-1", wet_m2=0.0), "covers no area"),
    # order
    ("tape on dust", placed("tape.north", start_of("floor.north")), "is done"),
    (
        "a coat on a wet one",
        placed("setting-coat-2.east", end_of("setting-coat-1.east")),
        'is at "set"',
    ),
    ("sanded wet", placed("rub.east", end_of("topping-coat-1.east")), 'is at "dry"'),
    ("primed wet", placed("prime-1", end_of("wipe")), 'is at "recoat"'),
    (
        "sanded on a wet stack",
        placed("rub.east", reached("topping-coat-1.east", "dry")),
        'is at "dry"',
    ),
    (
        "dust on a wet stack",
        placed("rub.north", reached("topping-coat-1.east", "dry")),
        'dust on the wet coat of "Setting compound',
    ),
    (
        "a coat on a wet bed",
        placed("setting-coat-1.east", end_of("tape.east")),
        'is at "set"',
    ),
    ("a bed of nothing", task("tape.east", product=None), "lays None, the job says"),
    (
        "a stack told short",
        other_wait("setting-coat-1.east", "dry", covered_by=()),
        "which coats lie over it wet is told wrong",
    ),
    (
        "modules that dry slower",
        part("kit", drying_times=1.5),
        "1.5 times as long on the modules",
    ),
    ("other air moving", job(air_m_s=0.5), "other air moving over it than the job"),
    ("recoated wet", placed("colour-2", end_of("colour-1")), 'is at "recoat"'),
    ("anchored before", placed("anchor.east", start_of("bed.east")), "is done"),
    ("packed before", placed("pack.east", start_of("anchor.east")), "is done"),
    ("bed gone stiff", placed("anchor.east", end_of("wipe")), "pot life"),
    ("wiped in dust", placed("wipe", start_of("rub.east")), "is done"),
    ("wiped before scuffing", placed("wipe", start_of("scuff.apron")), "is done"),
    (
        "slab read too soon",
        placed("read-slab.apron", end_of("test-slab.apron")),
        'is at "read"',
    ),
    (
        "a floor not known dry",
        placed("floor.north", start_of("read-slab.apron")),
        "is done",
    ),
    ("a floor untested", without("read-slab.apron"), "read-slab (apron): ordered"),
    ("a floor not scuffed", without("scuff.apron"), "scuff (apron): ordered"),
    (
        "another test",
        part("methods", slab_test="slab-chloride"),
        "the job says slab-chloride",
    ),
    (
        "before the corner",
        placed("set.north", start_of("set-corner.corner")),
        "is done",
    ),
    ("a module not cut", without("cut"), "cut (east): ordered"),
    ("an end left open", without("cap"), "cap (east, north): ordered"),
    (
        "more cut than said",
        part("kit", least_cut_mm=310.0),
        "it takes 2",  # east's 12 in are less: shared with a whole module
    ),
    ("cut after bolting", placed("cut", end_of("join.north")), "is done"),
    ("an open end taped", placed("cap", end_of("floor.north")), "is done"),
    (
        "an outlet behind the cove",
        part("stage", behind=(OUTLET,)),
        "nothing is said of the outlet on north behind it",
    ),
    ("no word of waste", shortened("reminders"), "nothing is said of survey"),
    (
        "ordered too late",
        listed("reminders", 1, day=date(2027, 2, 1)),
        "order is told for",
    ),
    (
        "feet too soon",
        listed("reminders", -4, day=date(2027, 2, 1)),
        "feet is told for",
    ),
    ("another tape", part("methods", tape="mesh"), "not said to be of mesh tape"),
    (
        "mesh under drying compound",
        part("methods", tape="mesh", setting_coats=0),
        "it cracks",
    ),
    ("no shadow check", placed("shadow", end_of("colour-1")), "before"),
    ("floor before crust", placed("floor.east", end_of("pack.east")), 'is at "crust"'),
    ("a link untold", shortened("links", -1), "the plan doesn't say that it waits for"),
    (
        "an order untold",
        unlinked("shadow", "colour-1"),
        "nothing in the plan says that",
    ),
    ("apart untold", shortened("apart"), "that it keeps away from"),
    ("apart until wet", listed("apart", 0, stage="x"), "that it keeps away from"),
    ("a link to nothing", listed("links", 0, before="x"), "a link names no task"),
    ("a wait untold", shortened("waits", -1), "is not told"),
    # the room
    (
        "two teams",
        placed("tape.north", start_of("floor.north")),
        "two teams in bay north",
    ),
    (
        "dust on a wet coat",
        placed("rub.north", start_of("topping-coat-1.east")),
        "dust on the wet coat of",
    ),
    ("wet apron", placed("handover", end_of("colour-2")), "crosses the wet apron of"),
    (
        "beside a loose corner",
        placed("lines.north", end_of("set-corner.corner")),
        "which stands unfastened until",
    ),
    (
        "drilled beside loose modules",
        placed("drill.corner", end_of("set.north")),
        "which stands unfastened until",
    ),
    ("booked", over_stage("bookings", "colour-1"), "the closure lies over"),
    (
        "booked before it begins",
        over_stage("bookings", "handover", length=24 * HOUR, before=10 * HOUR),
        "the closure lies over",
    ),
)

STRAIGHT = (
    ("no survey", without("survey"), "survey: ordered"),
    (
        "closed before the survey",
        placed("survey", start_of("board.back-wall")),
        "the stage is closed before it is done",
    ),
    ("furred unsurveyed", placed("fur.back-wall", end_of("survey")), 'at "report"'),
    ("drilled unfound", placed("drill.back-wall", end_of("locate")), 'at "isolated"'),
    ("booked as they call", over_stage("bookings", "survey"), "the stage is booked"),
    ("no visit", task("survey", visit=False), "is a visit, the plan errs"),
    ("report sooner", part("survey", results_h=48.0), "it takes 48 h"),
    ("no fumes", task("prime-1", fumes=False), "is giving off fumes, the plan errs"),
    ("nobody watches", first_of("foam", elapsed_h=0.0), "h of watching"),
    ("in the fumes", placed("shadow", end_of("prime-2")), "in the fumes of"),
    ("foam cut wet", placed("floor.back-wall", end_of("foam.back-wall")), 'at "trim"'),
    (
        "fumes not cleared",
        placed("colour-1", end_of("prime-2")),
        'is at "free of fumes"',
    ),
    (
        "wrong day",
        job(delivery=None, earliest=date(2027, 2, 9)),
        "the plan's first moment",
    ),
)


@pytest.mark.parametrize(
    ("spoil", "words"), [pytest.param(s, w, id=i) for i, s, w in CORNER]
)
def test_a_fault_planted_in_the_corner_is_named(planned, spoil, words):
    named(spoil(planned["corner"].case), words)


@pytest.mark.parametrize(
    ("spoil", "words"), [pytest.param(s, w, id=i) for i, s, w in STRAIGHT]
)
def test_a_fault_planted_in_the_straight_wall_is_named(planned, spoil, words):
    named(spoil(planned["straight"].case), words)

"""Faults planted in waits, air, returns, money and what is told: each is named.

Tests of planner/judge/rates.py, planner/judge/returns.py, planner/judge/told.py,
planner/judge/waits.py, planner/judge/windows.py.
"""

from dataclasses import replace
from datetime import timedelta

import pytest

from planner.nouns.air import AirReading, DayNight
from planner.nouns.ids import bare
from planner.nouns.product import RECOAT_WINDOW, Latest, Source
from tests.support.judge import (
    both,
    calendars,
    entry,
    hours,
    job,
    limits,
    listed,
    named,
    of,
    part,
    person,
    plan,
    product,
    shortened,
)
from tests.support.plans import changed

HOUR = timedelta(hours=1)
TICK = timedelta(minutes=15)
FEB = 2


def wait(choose, **changes):
    """Change the moments of a wait: `changes` give what is added to each."""

    def spoil(case):
        number = next(i for i, w in enumerate(case[1].waits) if choose(w))
        w = case[1].waits[number]
        new = {k: getattr(w, k) + v for k, v in changes.items()}
        return listed("waits", number, **new)(case)

    return spoil


def topping(w):
    return bare(w.task) == "topping-coat-1.north" and w.stage == "dry"


def likely_with_margin(case):
    number = next(i for i, w in enumerate(case[1].waits) if topping(w))
    return listed("waits", number, likely=case[1].waits[number].ready)(case)


def back(number, **changes):
    def spoil(case):
        r = case[1].stage.returns[number]
        new = {k: getattr(r, k) + v for k, v in changes.items()}
        return listed("returns", number, **new)(case)

    return spoil


def air(**changes):
    """Change the air that the job assumes."""

    def spoil(case):
        return job(air=replace(case[0].job.air, **changes))(case)

    return spoil


def air_told(name, number, by):
    """Change a value of the air that the plan tells."""

    def spoil(case):
        values = list(getattr(case[1].stage.air, name))
        values[number] += by
        told = replace(case[1].stage.air, **{name: tuple(values)})
        return plan(air=told)(case)

    return spoil


def in_february(case):
    base = case[0].job.air
    warm = replace(base, day_c=base.day_c + 2.0)
    return job(air_months=((FEB, warm),))(case)


def read_once(rh_pct, after):
    """Take a reading some hours after the plan's first midnight."""

    def spoil(case):
        when = case[1].grid_start + after
        taken = (AirReading(when=when, air_c=20.0, humidity_pct=rh_pct),)
        return replace(case[0], readings=taken), case[1]

    return spoil


def all_closed(case):
    """Let the plan's readings be those of a job that took none."""
    taken = (AirReading(when=case[1].stage.closure[1], air_c=20.0, humidity_pct=50.0),)
    return replace(case[0], readings=taken), case[1]


def covered_within(hours_h):
    """Give the primer a window within which it must be covered."""

    def change(p):
        window = Latest(
            name=RECOAT_WINDOW,
            law="fixed",
            numbers=(("hours_h", hours_h),),
            then="sand it again",
            source=Source(text="invented", tag="user"),
        )
        return replace(p, latest=(window,))

    return product("water-primer", change)


def window(**changes):
    return listed("windows", 0, **changes)


def thicker(p):
    return replace(p, thickness_mm=2.0 * (p.thickness_mm or 0.0))


def told_of(name, number=0, **changes):
    """Change a part of a part: a supply of the plan's, a product's limit."""
    return listed(name, number, **changes)


def quiet_twice(case):
    """Let a second quiet calendar close the hours of a loud task."""
    t = of(case[1], "drill")
    known = case[0].hours.quiet
    more = (*known, entry(t.start, t.end, "another.ics"))
    return calendars(lambda c: {"quiet": more})(case)


def share(part_, by):
    def spoil(case):
        told = tuple(
            replace(s, minutes=s.minutes + by) if s.part == part_ else s
            for s in case[1].stage.division
        )
        return plan(division=told)(case)

    return spoil


def all_nights(case):
    """Let all hours but those worked be nights."""
    told = tuple(
        replace(s, minutes=s.minutes if s.part == "working" else 0)
        for s in case[1].stage.division
    )
    rest = sum(s.minutes for s in case[1].stage.division) - sum(s.minutes for s in told)
    return share("nights and days off", rest)(
        (case[0], changed(case[1], division=told))
    )


def resting(length):
    """Let one of the crew rest for so long after the first work."""

    def spoil(case):
        first = next(t for t in case[1].tasks if case[1].crew[0].id in t.team)
        rests = ((first.end, first.end + length),)
        return listed("crew", 0, rests=rests)(case)

    return spoil


def moved_share(one, two):
    return both(share(one, -60), share(two, 60))


def supply(**changes):
    def spoil(case):
        number = next(i for i, s in enumerate(case[1].supplies) if s.lead_h > 0)
        s = case[1].supplies[number]
        new = {k: v(s) for k, v in changes.items()}
        return listed("supplies", number, **new)(case)

    return spoil


def cost(**changes):
    def spoil(case):
        return plan(cost=replace(case[1].cost, **changes))(case)

    return spoil


def closing(start=timedelta(0), end=timedelta(0)):
    def spoil(case):
        a, b = case[1].stage.closure
        return plan(closure=(a + start, b + end))(case)

    return spoil


def chained(**changes):
    return listed("chain", 1, **changes)


def law(id_, stage, name):
    def change(p):
        stages = tuple(
            replace(s, law=name, numbers=(("hours_h", 1.0),)) if s.stage == stage else s
            for s in p.stages
        )
        return replace(p, stages=stages)

    return product(id_, change)


def no_water(p):
    return replace(p, stages=p.stages[:1])


CORNER = (
    # waits
    ("ready early", wait(topping, ready=-2 * TICK), "planned for"),
    ("ready a tick early", wait(topping, ready=-TICK), "too early"),
    ("ready late", wait(topping, ready=3 * TICK), "too late"),
    ("likely as planned", likely_with_margin, "likely for"),
    ("begins late", wait(topping, begins=TICK), "doesn't begin when the work ends"),
    ("no such stage", listed("waits", 0, stage="soft"), "is no wait after it"),
    ("another way", listed("waits", 0, way="dries"), "the plan says dries"),
    ("slower colour", hours("flat-colour", "recoat", hours_h=6.0), "too early"),
    ("slower set", hours("setting-90", "set", class_min=150.0), "too early"),
    ("slower mortar", hours("dry-mortar", "load", age_h=180.0), "too early"),
    ("slower adhesive", hours("adhesive", "full", hours_h=60.0), "too early"),
    ("slower wiping", hours("damp-wipe", "recoat", hours_h=2.0), "too early"),
    (
        "longer full service",
        hours("flat-colour", "full service", hours_h=96.0),
        "early",
    ),
    ("quicker colour", hours("flat-colour", "recoat", hours_h=2.0), "too late"),
    ("another law", law("topping", "dry", "fixed"), "too late"),
    ("a thicker coat", product("topping", thicker), "too early"),
    ("another margin", job(margin_frac=0.5), "the plan's margin is 0.25"),
    # air
    ("damper by day", air(day_rh_pct=60.0), "the plan's air: humidity"),
    ("damper by night", air(night_rh_pct=60.0), "the plan's air: humidity"),
    ("colder by night", air(night_c=14.0), "the plan's air: temperature"),
    ("another month", in_february, "the plan's air: temperature"),
    ("a reading left out", read_once(80.0, 30 * HOUR), "the plan's air: humidity"),
    ("a reading not told", all_closed, "readings are told"),
    ("one tick of air", air_told("humidity_pct", 700, -2.0), "humidity"),
    ("one tick of warmth", air_told("air_c", 700, 1.0), "temperature"),
    ("air changes", air_told("changes_per_h", 700, 1.0), "air changes"),
    (
        "air that ends too soon",
        lambda c: plan(air=replace(c[1].stage.air, air_c=c[1].stage.air.air_c[:500]))(
            c
        ),
        "doesn't last as long as what the plan tells",
    ),
    (
        "air of another day",
        lambda c: plan(air=replace(c[1].stage.air, start=c[1].stage.air.start + HOUR))(
            c
        ),
        "doesn't begin with its grid",
    ),
    # limits, at night too: until dry, not until laid
    (
        "too damp at night",
        limits("topping", max_rh_pct=50.0),
        "needs 50 % or less until",
    ),
    ("too warm by day", limits("topping", max_c=19.0), "needs 19.0 °C or less until"),
    (
        "too cold at night",
        limits("topping", min_c=18.0),
        "needs 18.0 °C or more at the",
    ),
    ("near the dew point", limits("flat-colour", dew_margin_delta_k=15.0), "dew point"),
    ("a cold wall", job(wall_colder_delta_k=8.0), "at the wall until"),
    ("cold before", limits("flat-colour", min_c=17.0), "for 48 h before it"),
    # windows
    ("covered too late", covered_within(8.0), "and nobody sands it again"),
    ("a window untold", covered_within(400.0), "doesn't tell the window"),
    # closure and returns
    ("closed later", closing(start=HOUR), "the closure begins"),
    ("closed shorter", closing(end=-HOUR), "the closure ends"),
    ("back early", back(1, when=-HOUR), "full service: planned for"),
    ("back late", back(1, when=2 * HOUR), "full service: planned for"),
    (
        "light foot traffic early",
        back(0, when=-HOUR),
        "light foot traffic: planned for",
    ),
    ("a term left out", shortened("return_terms"), "the plan doesn't wait for"),
    ("a term more", listed("return_terms", -1, stage="recoat"), "needn't wait for"),
    ("a rest of nothing", resting(30 * HOUR), "is no rest of"),
    ("a rest over no night", resting(HOUR), "is over no night"),
    ("one return", shortened("returns", 0), "never returns to it"),
    # money and hours
    ("stage money", cost(stage=1.0), "for the stage, days, hours and rates give"),
    ("labour money", cost(labour=1.0), "for labour, days, hours and rates give"),
    ("money for waiting", cost(labour_idle=1.0), "for waiting between tasks"),
    ("currency", cost(currency="EUR"), "costs: in EUR"),
    ("a dearer stage", part("rates", stage_per_day=2000.0), "for the stage"),
    ("a dearer person", person(0, rate_per_h=99.0), "for labour"),
    ("hours lost", share("drying", -15), "the parts don't add up"),
    ("hours worked", moved_share("working", "drying"), "min working, somebody works"),
    (
        "nights",
        all_nights,
        "more nights and days off than there are",
    ),
    (
        "less than none",
        both(share("clearing of fumes", -60), share("drying", 60)),
        "less than none of",
    ),
    # what else is told
    ("a product's law", listed("products", 0, min_c=3.0), "its laws or limits wrong"),
    ("a product untold", shortened("products", 0), "not among the plan's products"),
    ("a booking untold", shortened("bookings"), "bookings: the plan tells them"),
    ("a quiet hour untold", shortened("quiet"), "quiet hours: the plan tells them"),
    ("the second of two quiet calendars", quiet_twice, "quiet hours of another.ics"),
    ("shut hours", plan(shut=()), "shut hours are told wrong"),
    ("bought late", supply(on_site=lambda s: s.first_use.date()), "it must be by"),
    ("needed later", supply(first_use=lambda s: s.first_use + HOUR), "told otherwise"),
    ("uses", supply(net=lambda s: s.net + 1.0), "don't add up to"),
    ("waste", supply(with_waste=lambda s: s.net / 2), "the waste is reckoned wrong"),
    ("packs", supply(packs=lambda s: 0), "packs hold less than is needed"),
    ("bought for nothing", supply(uses=lambda s: ()), "that aren't in the plan"),
    ("a tool's days", listed("tools", 0, days=()), "for other days than its work"),
    ("a tool's stay", listed("tools", 0, periods=()), "isn't there on a day"),
    ("a chain of nothing", chained(task="x"), "what holds the date names no task"),
    (
        "a chain held late",
        lambda c: chained(held_from=c[1].stage.closure[1])(c),
        "after its",
    ),
    (
        "a chain unlinked",
        chained(cause="link", by="handover"),
        "doesn't follow handover",
    ),
    # whose plan it is
    ("another job", plan(job="x"), "the plan's job is x"),
    ("another identity", plan(plan_id="x"), "the plan's identity is x"),
    ("another stage", plan(name="x"), "isn't of the job's one stage"),
    ("another zone", plan(zone="Europe/Oslo"), "the plan's time zone is"),
    ("another step", plan(tick_minutes=5), "the plan's step is 5"),
    ("other inputs", plan(fingerprint="x"), "the plan's fingerprint is x"),
    ("no tasks", plan(tasks=()), "the plan has no tasks"),
)

STRAIGHT = (
    ("fumes until dry", wait(lambda w: w.way == "clears", ready=-HOUR), "too early"),
    ("less fresh air", air_told("changes_per_h", 10, 5.0), "air changes"),
    ("a window told wrong", window(closes=None), "its window is told wrong"),
    ("sanded by nobody", window(sanded_again="x"), "told wrong"),
    ("a window of nothing", window(before="x"), "there is none"),
    (
        "primer covered too late",
        product(
            "solvent-primer",
            lambda p: replace(
                p,
                latest=(
                    replace(
                        p.latest[0],
                        numbers=(
                            ("hours_h", 4.0),
                            ("at_c", 25.0),
                            ("doubling_k", 10.0),
                        ),
                    ),
                ),
            ),
        ),
        "and nobody sands it again",
    ),
    ("slower foam", hours("foam", "trim", hours_h=30.0), "too early"),
    ("slower solvent", hours("solvent-primer", "recoat", hours_h=30.0), "too early"),
    (
        "another night",
        lambda c: job(air=DayNight(**{**_fields(c), "night_c": 12.0}))(c),
        "temperature",
    ),
)


def _fields(case):
    base = case[0].job.air
    return {name: getattr(base, name) for name in DayNight.__dataclass_fields__}


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

"""Who may be beside what: dust beside wet coats, people in fumes, a foot on the apron.

Tests of planner/planning/apart.py.
"""

from dataclasses import replace

import pytest

from planner.nouns.product import CLEARED, Product
from planner.nouns.work import Pace, Task, TaskLink, Work
from planner.planning.apart import kept_apart, kept_until
from planner.trade.data.materials import product

PRODUCTS = {
    p: product(p)
    for p in (
        "flat-colour",
        "solvent-primer",
        "water-primer",
        "topping",
        "adhesive",
        "setting-90",
    )
}


def task(id_: str, product_: str | None = None, *, bays=("wall",), **more) -> Task:
    return Task(
        id=id_, title=id_, how="", phase=id_, bays=bays, lead=("painter",), help=(),
        person_hours=1.0, set_up_h=0.0, elapsed_h=0.0, quantity="", teams=(),
        pace=Pace.ONE_GO, product=product_,
        dry_stage=None if product_ is None else stages(PRODUCTS[product_])[0], **more,
    )  # fmt: skip


def stages(of: Product) -> list[str]:
    return [s.stage for s in of.stages if s.stage in ("recoat", "dry", "hold")]


def apart(*tasks: Task, links: tuple[tuple[str, str], ...] = ()):
    """Return (others, stage waited for) of each task that keeps others away."""
    work = Work(
        bays=("wall", "apron"),
        tasks=tasks,
        links=tuple(TaskLink(before=a, after=b, reason="") for a, b in links),
        returns=(),
    )
    return {s.task: (s.others, s.until.stage) for s in kept_apart(work, PRODUCTS)}


SWEEP, SAND = task("sweep"), task("sand", dusty=True)


@pytest.mark.parametrize("coat", ["topping", "water-primer", "flat-colour"])
def test_dust_keeps_away_from_a_wet_coat_until_it_is_dry_and_who_makes_none_need_not(
    coat,
):
    (dry,) = stages(PRODUCTS[coat])
    assert apart(task("coat", coat), SWEEP, SAND) == {"coat": (("sand",), dry)}
    assert apart(task("coat", coat), SWEEP) == {}


def test_dust_keeps_away_from_coats_wet_on_one_another_until_all_are_dry():
    # each of a stack keeps it off as long as itself and what lies over it takes
    low = replace(
        task("low", "setting-90"), dry_stage="set", covered_by=("setting-90", "topping")
    )
    top = replace(task("top", "topping"), over="low")
    work = Work(
        bays=("wall",),
        tasks=(low, top, SAND),
        links=(TaskLink(before="low", after="top", reason=""),),
        returns=(),
    )
    until = {s.task: s.until for s in kept_apart(work, PRODUCTS)}
    assert until["low"] == kept_until(low)
    assert until["low"].stage == "dry"
    assert until["low"].covered_by == ("setting-90", "topping")
    assert (until["top"].stage, until["top"].covered_by) == ("dry", ())


def test_dust_may_lie_on_what_is_no_coat():
    assert apart(task("glue", "adhesive"), SAND, SWEEP) == {}


def test_everybody_keeps_away_from_fumes_until_they_have_cleared_not_until_dry():
    coat = task("coat", "solvent-primer", fumes=True)
    assert apart(coat, SWEEP, SAND) == {"coat": (("sweep", "sand"), CLEARED)}
    # fumes of what has no stage of clearing keep away until it is dry
    bare = task("coat", "water-primer", fumes=True)
    assert apart(bare, SWEEP) == {"coat": (("sweep",), "recoat")}
    # what gives off none is waited for until dry, even where it has such a stage
    assert apart(replace(coat, fumes=False), SAND) == {"coat": (("sand",), "recoat")}


def test_nobody_crosses_a_wet_apron():
    floor = task("coat", "flat-colour", bays=("wall", "apron"))
    assert apart(floor, SWEEP) == {"coat": (("sweep",), "recoat")}
    glue = task("glue", "adhesive", bays=("apron",))
    assert apart(glue, SWEEP, SAND) == {}


def test_what_comes_before_or_after_anyway_and_what_is_off_the_stage_is_not_named():
    coat = task("coat", "solvent-primer", fumes=True)
    others = [task(name) for name in ("first", "then", "next", "last", "beside")]
    away = task("away", on_stage=False)
    links = (("first", "then"), ("then", "coat"), ("coat", "next"), ("next", "last"))
    found = apart(coat, *others, away, links=links)
    assert found == {"coat": (("beside",), CLEARED)}
    assert apart(replace(coat, on_stage=False), *others) == {}
    # two coats in fumes each keep the other away
    two = apart(coat, replace(coat, id="two"))
    assert two == {"coat": (("two",), CLEARED), "two": (("coat",), CLEARED)}

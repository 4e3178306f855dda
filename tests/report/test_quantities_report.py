"""The purchase list in words: on the plan's page, on its own page and as text.

Tests of planner/report/words/quantities_page.py,
planner/report/words/quantities_rows.py, planner/report/words/quantities_text.py.
"""

from dataclasses import replace

import pytest

from planner.measures import Units
from planner.report.page.crew import crew_page
from planner.report.words.quantities_page import quantities_page
from planner.report.words.quantities_rows import TIMES, amount_words, buying_of
from planner.report.words.quantities_text import quantities_text
from tests.report.test_page import HARD, Read, _outside_pictures
from tests.support.plans import made_plan

PLAN = made_plan()


def test_the_plans_page_says_what_to_buy_and_by_when():
    # three coats of topping, a litre each, half of it more, in pails of 2 l
    words = Read(crew_page(PLAN)).part("buying")
    supply = PLAN.supplies[0]
    assert supply.on_site is not None
    day = f"{supply.on_site:%a} {supply.on_site.day} {supply.on_site:%b}"
    assert f"Topping 3 {TIMES} pail of 2 l {day}" in words
    assert "48 h before first use, " in words
    assert "101 US fl oz (3.00 l)" in words  # 3 / 3.785 x 128
    assert "1.2 US gal (4.5 l)" in words  # with half of it more
    assert f"1 {TIMES} vacuum sander" in words
    assert "a litre a coat: by hand" in words


def test_a_plan_that_buys_nothing_says_so():
    bare = replace(PLAN, supplies=(), tools=())
    assert "Nothing is used up." in Read(crew_page(bare)).part("buying")
    assert "Tools, and the days" in quantities_text(buying_of(bare))


@pytest.mark.parametrize("name", HARD)
def test_hard_names_stay_words(name):
    def page(title):
        supply = replace(PLAN.supplies[0], title=title, pack=title, reckoned=(title,))
        plan = replace(PLAN, supplies=(supply,), job=title)
        return quantities_page(buying_of(plan))

    assert _outside_pictures(Read(page(name))) == _outside_pictures(Read(page("a")))


def test_the_page_asks_the_network_for_nothing():
    got = Read(quantities_page(buying_of(PLAN)))
    for tag, attrs in got.tags:
        assert tag not in ("script", "link", "img", "iframe")
        for key in ("src", "href", "action"):
            assert (attrs.get(key) or "#").startswith("#")


def test_text_keeps_to_80_columns():
    for bays in (("north", "corner"), ("a wall with a rather long name of its own",)):
        text = quantities_text(buying_of(made_plan(bays=bays)))
        assert max(map(len, text.splitlines())) <= 80


@pytest.mark.parametrize(
    ("amount", "unit", "words"),
    [
        (83.0, "pieces", "83"),
        (82.2, "pieces", "83"),  # nobody buys a fifth of a screw
        (30.48, "m", "100 ft (30.5 m)"),
        (9.290304, "m²", "100 ft² (9.3 m²)"),
        (7.570823568, "l", "2.0 US gal (7.6 l)"),
        (0.2957, "l", "10 US fl oz (0.30 l)"),
    ],
)
def test_amounts_stand_in_both_unit_systems(amount, unit, words):
    assert amount_words(amount, unit, Units.US) == words

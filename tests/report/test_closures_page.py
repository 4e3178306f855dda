"""Closures drawn on a strip of months, and as a page: nothing cut, nothing misplaced.

Tests of planner/report/choices/closures_picture.py,
planner/report/choices/closures_page.py, planner/usecases/comparing/season.py,
planner/report/choices/strip.py, planner/report/words/choices/closures_text.py.
"""

from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from planner.measures import Units
from planner.nouns.choices.closures import (
    ClosureChoices,
    ClosureOption,
    Gap,
    StandingClosure,
)
from planner.report.calendars.holds_feed import holds_feed
from planner.report.choices.closures_page import closures_page
from planner.report.choices.closures_picture import MOST, closures_node, closures_svg
from planner.report.drawing.elements import width_of
from planner.report.words.choices.closures_text import closures_words, ruled_out
from planner.usecases.comparing.season import season_of
from planner.usecases.read import Papers
from tests.support.closing import booked, closures, day, option, season
from tests.support.side_by_side import SMALL
from tests.support.values import changed, job_file

SVG = "{http://www.w3.org/2000/svg}"
DAY = timedelta(days=1)


def drawn(found: ClosureChoices, *, narrow: bool = False) -> ET.Element:
    root = closures_node(found, season(), narrow=narrow)
    return ET.fromstring(ET.tostring(root))


def blocks(root: ET.Element, name: str) -> list[tuple[float, float]]:
    """Return where the blocks of a class begin and end, across."""
    return [
        (float(r.attrib["x"]), float(r.attrib["x"]) + float(r.attrib["width"]))
        for r in root.iter(f"{SVG}rect")
        if r.attrib.get("class") == name
    ]


def test_above_the_table_stands_what_it_is_compared_with():
    found, none = closures(), "Each row is a quick plan; covetime plan may find an"
    head = " ".join(closures_words(found).partition("  1  ")[0].split())
    assert none in head
    plan = StandingClosure(
        start=day(2, 11, hour=8), kept=day(3, 8, hour=12), stage_cost=49_400.0,
        labour_cost=6_647.0, hits=0.25,
    )  # fmt: skip
    found = replace(found, standing=plan)
    head = " ".join(closures_words(found).partition("  1  ")[0].split())
    said = (
        "The plan that stands: closed Thu 11 Feb 2027 to Mon 8 Mar, 26 days, stage "
        "49,400 + labour 6,647 CAD; kept in 8 of 10 cases; late for a booking in 25 of "
        "100. Compare it with the rows below, which covetime plan may still improve."
    )
    assert said in head
    assert none not in head
    page = closures_page(found, season()).decode().replace("\N{NO-BREAK SPACE}", " ")
    assert said in page
    assert max(map(len, closures_words(found).splitlines())) <= 80
    late = closures_words(replace(found, standing=replace(plan, kept=None)))
    assert "closed Thu 11 Feb 2027 to later than was looked at" in " ".join(
        late.split()
    )


def test_a_row_says_which_bookings_move_for_it_and_for_how_much():
    table = closures_words(closures()).partition("Closed from")[2]
    rows = table.partition("\n\n")[0].splitlines()
    moves = 'moves "Rehearsals <all> & more" (stage.ics) for 1,500 CAD'
    (at,) = (n for n, row in enumerate(rows) if row.strip() == moves)
    assert "Fri 25 Jun 2027" in rows[at - 1]
    assert any(
        r.strip().endswith('"Agency hold" (stage.ics) (no price given)') for r in rows
    )
    page = (
        closures_page(closures(), season()).decode().replace("\N{NO-BREAK SPACE}", " ")
    )
    table = page.partition("</table>")[0]
    assert ">Moves<" in table
    assert "&#34;Rehearsals &lt;all&gt; &amp; more&#34; (stage.ics) for 1,500" in table
    firm = closures()
    firm = replace(firm, options=tuple(o for o in firm.options if not o.gap.moving))
    assert "moves" not in closures_words(firm).partition("  1  Closed")[0]
    assert ">Moves<" not in closures_page(firm, season()).decode()


@pytest.mark.parametrize("narrow", [False, True])
def test_each_closure_is_drawn_from_its_first_day_to_its_last(narrow):
    """Days are equally wide: blocks are worked out from the edges of two of them."""
    found = closures()
    root = drawn(found, narrow=narrow)
    ranked = found.ranked()
    bars = blocks(root, "splan")[: len(ranked)]  # the last one stands in the key
    starts = [o.figures.closure[0] for o in ranked if o.figures]
    ends = [o.figures.closure[1] for o in ranked if o.figures]
    by_start = sorted(zip(starts, bars, strict=True))
    (a, (x_a, _)), (b, (x_b, _)) = by_start[0], by_start[-1]
    per_s = (x_b - x_a) / (b - a).total_seconds()
    for start, end, (left, right) in zip(starts, ends, bars, strict=True):
        assert left == pytest.approx(x_a + (start - a).total_seconds() * per_s, abs=0.2)
        assert right - left == pytest.approx(
            (end - start).total_seconds() * per_s, abs=0.2
        )
    latest = blocks(root, "slate")[: len(ranked)]
    assert all(late > end for (_, end), (_, late) in zip(bars, latest, strict=True))


@pytest.mark.parametrize("narrow", [False, True])
@pytest.mark.parametrize("count", [0, 1, 40])
def test_no_word_leaves_the_picture(narrow, count):
    rows = [
        option(day(2, 9) + n * 8 * DAY, 18, 60_000.0 - 900 * n, until=None)
        for n in range(count)
    ]
    root = drawn(replace(closures(), options=tuple(rows)), narrow=narrow)
    wide = float(root.attrib["width"])
    for text in root.iter(f"{SVG}text"):
        x, long = float(text.attrib["x"]), width_of(text.text or "", 12)
        names = text.attrib.get("class", "").split()
        first = x - long if "e" in names else x
        assert first >= 0
        assert first + long <= wide, text.text
    assert len(blocks(root, "splan")) == min(count, MOST) + 1
    if not count:
        assert any("no closure" in (t.text or "") for t in root.iter(f"{SVG}text"))


def test_bookings_and_gaps_that_are_too_short_are_told_apart_without_colour():
    root = drawn(closures())
    fills = [r.attrib.get("fill") for r in root.iter(f"{SVG}rect")]
    assert fills.count("url(#closures-tentative)") == 2 + 1  # and one in the key
    assert fills.count("url(#closures-short)") == 1 + 1
    assert len(blocks(root, "sbooked")) == 5 + 1
    patterns = {p.attrib["id"] for p in root.iter(f"{SVG}pattern")}
    assert {f[5:-1] for f in fills if f and f.startswith("url")} <= patterns


def test_the_wish_is_drawn_across_only_if_there_is_one():
    def lines(found: ClosureChoices) -> int:
        paths = drawn(found).iter(f"{SVG}path")
        return sum(p.attrib.get("class") == "swanted" for p in paths)

    assert lines(closures()) == 2  # and one in the key
    assert lines(closures(wanted=False)) == 0


def test_the_file_stands_alone_and_titles_cannot_break_it():
    data = closures_svg(closures(), season())
    assert data.startswith(b"<?xml")
    ET.fromstring(data)
    assert b"Rehearsals &lt;all&gt; &amp; more" in data
    assert b"http://www.w3.org/2000/svg" in data
    assert data.count(b"http") == 1  # nothing is fetched


def test_the_page_holds_strip_table_and_what_is_left_out():
    found = closures()
    page = closures_page(found, season()).decode()
    assert "<script" not in page
    assert page.count("<svg") == 2
    for one in found.ranked():
        assert one.figures is not None
        assert f"{one.cost:,.0f} CAD" in page
    assert "too short: needs 18 days, has 10 days" in " ".join(
        page.replace("\N{NO-BREAK SPACE}", " ").split()
    )
    assert "worse in every way than one above" in page
    assert "Rehearsals &lt;all&gt; &amp; more" in page
    silent = closures_page(replace(found, options=()), season(outside=False)).decode()
    assert "None of the gaps between bookings holds the work." in silent
    assert "air in the room" in silent


def test_what_is_printed_ranks_by_the_wish_and_tells_it():
    words = " ".join(closures_words(closures()).split())
    assert "The stage is wanted back by the end of Fri 30 Apr 2027" in words
    assert "1 Thu 25 Mar 2027 Mon 19 Apr 2027" in words
    assert "back by then in 90 of 100 cases" in words
    none = replace(closures(), back_by=day(2, 20))
    assert "No closure keeps that in 8 of 10 cases." in " ".join(
        closures_words(none).split()
    )
    lines = closures_words(closures()).splitlines()
    assert max(map(len, lines)) <= 80


def test_a_price_of_moving_stands_among_the_costs_and_in_the_hold():
    words = " ".join(closures_words(closures()).split())
    assert "stage 43,000 + labour 6,000 + moving bookings 1,500 CAD" in words
    assert "50,500 CAD" in words
    found = closures()
    holds = holds_feed(found, found.ranked(), stage="the stage").entries
    said = [
        e.description for e in holds if "Moving what is booked costs" in e.description
    ]
    assert len(said) == 1
    assert "costs 1,500 CAD" in said[0]


MONTHS = """
[air]
temperature = "20 C"
humidity = "50 %"
[[air.month]]
month = "Mar"
temperature = "10 C"
humidity = "80 %"
"""


def test_the_season_is_the_mean_air_of_each_month(tmp_path):
    inputs = Papers(job_file(tmp_path, SMALL + MONTHS)).inputs()
    until = datetime(2027, 4, 9, 12, tzinfo=inputs.job.zone)
    found = season_of(inputs, until)
    assert [(round(m.air_c, 6), round(m.humidity_pct, 6)) for m in found.months] == [
        (20.0, 50.0), (10.0, 80.0), (20.0, 50.0)
    ]  # fmt: skip
    starts = [m.start.astimezone(inputs.job.zone).date() for m in found.months]
    assert [(d.month, d.day) for d in starts] == [(2, 8), (3, 1), (4, 1)]
    assert all(
        a.end == b.start for a, b in zip(found.months, found.months[1:], strict=False)
    )
    assert not found.outside
    assert found.units is Units.METRIC


def test_the_season_is_that_outside_where_the_job_has_it(tmp_path: Path):
    said = SMALL + (
        "[air]\n[air.outside]\ntemperature = '5 C'\nhumidity = '90 %'\n"
        "[air.room]\nvolume = '300 m3'\n"
    )
    inputs = Papers(job_file(tmp_path, changed(said, ("'", '"')))).inputs()
    found = season_of(inputs, datetime(2027, 2, 9, tzinfo=inputs.job.zone))
    assert found.outside
    assert [(m.air_c, m.humidity_pct) for m in found.months] == [(5.0, 90.0)]


# ------------------------------------------------ a booking moved to be safe from lateness


def next_to_a_hold(hits: float, cost: float | None, latest: int) -> str:
    """Return the words of a closure that ends before a hold, or a booking with a price."""
    hold = booked("Hold", day(3, 10), 2, "tentative" if cost is None else "busy", cost)
    film = booked("Film", day(3, 20), 2)
    one = option(day(2, 12), 18, 50_000.0, until=day(3, 10), hits=hits)
    assert one.figures is not None
    light, full = one.figures.returns
    returns = (light, replace(full, latest=day(3, latest)))
    one = replace(one, figures=replace(one.figures, returns=returns))
    found = replace(closures(wanted=False), options=(one,), bookings=(hold, film))
    return " ".join(closures_words(found).split())


@pytest.mark.parametrize(
    ("hits", "cost", "latest", "told"),
    [
        (
            0.29,
            400.0,
            15,
            'Or "Hold" (stage.ics) moves for 400 CAD; next is then "Film" (stage.ics) on '
            "Sat 20 Mar 2027, before which the stage is back in 19 of 20 futures",
        ),
        (
            0.06,
            None,
            21,
            'Or "Hold" (stage.ics) moves; next is then "Film" (stage.ics) on Sat 20 Mar '
            "2027 Costs",
        ),
        (0.05, 400.0, 15, ""),  # back in 19 of 20 before it
    ],
)
def test_a_booking_that_a_late_return_meets_may_be_moved_at_its_price(
    hits, cost, latest, told
):
    said = next_to_a_hold(hits, cost, latest)
    assert told in said if told else "Or " not in said


def test_a_booking_that_stays_is_not_offered():
    found = closures(wanted=False)
    stays = replace(found, options=found.options[:1])  # before "Furniture", 29 of 100
    assert "29 of 100" in closures_words(stays)
    assert "Or " not in closures_words(stays)


def test_gaps_of_less_than_a_day_are_counted_in_one_line():
    found = closures(wanted=False)
    least = [
        ClosureOption(
            gap=Gap(start=day(3, n), end=day(3, n, hour=9)), needs_until=day(3, n + 17)
        )
        for n in (1, 2, 3)
    ]
    few = replace(found, options=(*found.options, *least))
    words = list(ruled_out(few))
    assert words[0] == (
        "3 gaps of less than a day, the first from Mon 1 Mar 2027, 00:00: too short: "
        "needs 17 days at least"
    )
    assert len(words) == 1 + len(list(ruled_out(found)))
    one = replace(found, options=(*found.options, least[0]))
    assert not any("less than a day" in w for w in ruled_out(one))

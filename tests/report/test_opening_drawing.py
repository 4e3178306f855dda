"""The opening's drawing: to scale, both unit systems, no words over each other.

Tests of planner/report/drawing/elements.py, planner/report/drawing/tokens.py,
planner/report/opening/cut_sheets.py, planner/report/opening/dimensions.py,
planner/report/opening/drawing.py, planner/report/opening/panel.py,
planner/report/opening/style.py.
"""

import re
from itertools import combinations
from xml.etree import ElementTree as ET

import pytest

from planner.measures import Units
from planner.report.drawing import tokens
from planner.report.drawing.elements import width_of
from planner.report.opening.drawing import (
    backing_lines,
    board_lines,
    opening_pictures,
    opening_svg,
)
from planner.report.opening.style import NARROW, SHEETS, SMALL, TEXT, mark_words, spread
from tests.support.rooms import ROOMS, measured

SVG = "{http://www.w3.org/2000/svg}"
BOTH = re.compile(r"^(part of )?-?\d.*(in|ft) \(-?\d+ mm\)$")
MOVE = re.compile(r"translate\((\S+) (\S+)\)")
TURN = re.compile(r"rotate\(-90 (\S+) (\S+)\)")

Box = tuple[float, float, float, float]


def drawn(tmp_path, room, sheet=SHEETS[0]):
    _, takeoff = measured(tmp_path, room)
    data = opening_svg(takeoff.opening, name=room.name, sheet=sheet)
    return takeoff.opening, ET.fromstring(data)


def placed(node, x=0.0, y=0.0):
    """Yield every element with how far it is moved."""
    if (move := MOVE.match(node.get("transform", ""))) is not None:
        x, y = x + float(move.group(1)), y + float(move.group(2))
    yield node, x, y
    for child in node:
        yield from placed(child, x, y)


def text_box(node, x: float, y: float) -> Box:
    """Return where a text stands: left, top, right, bottom."""
    kinds = node.get("class", "").split()
    size = SMALL if "s" in kinds else TEXT
    wide, say = width_of(node.text, size), float(node.get("x"))
    start = say - wide if "e" in kinds else say - wide / 2 if "m" in kinds else say
    base = float(node.get("y"))
    turn = TURN.match(node.get("transform", ""))
    if turn is None:
        return (x + start, y + base - size * 0.75, x + start + wide, y + base)
    cx, cy = float(turn.group(1)), float(turn.group(2))
    # (a, b) from the centre goes to (b, -a)
    lefts = (base - size * 0.75 - cy, base - cy)
    downs = (-(start - cx), -(start + wide - cx))
    return (
        x + cx + lefts[0],
        y + cy + min(downs),
        x + cx + lefts[1],
        y + cy + max(downs),
    )


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda s: s.name)
@pytest.mark.parametrize("room", ROOMS, ids=lambda r: r.name)
def test_no_words_lie_over_each_other_or_leave_the_picture(tmp_path, room, sheet):
    _, root = drawn(tmp_path, room, sheet)
    _, _, wide, high = (float(v) for v in root.get("viewBox").split())
    boxes = [
        (node.text, text_box(node, x, y))
        for node, x, y in placed(root)
        if node.tag == f"{SVG}text"
    ]
    for said, (left, top, right, bottom) in boxes:
        assert left >= 0, said
        assert top >= 0, said
        assert right <= wide, said
        assert bottom <= high, said
    for (a, one), (b, two) in combinations(boxes, 2):
        clear = (
            one[2] <= two[0] + 1 or two[2] <= one[0] + 1
            or one[3] <= two[1] + 1 or two[3] <= one[1] + 1
        )  # fmt: skip
        assert clear, (a, one, b, two)


@pytest.mark.parametrize("room", ROOMS, ids=lambda r: r.name)
def test_the_picture_tells_its_story_in_both_unit_systems(tmp_path, room):
    plan, root = drawn(tmp_path, room)
    named = {e.get("id"): e for e in root.iter() if e.get("id")}
    assert root.get("role") == "img"
    assert named[root.get("aria-labelledby")].text == f"Opening the wall: {room.name}"
    story = named[root.get("aria-describedby")].text
    for run in plan.runs:
        for strip in run.strips:
            for mm in (strip.rect.left_mm, strip.rect.right_mm, strip.rect.top_mm):
                assert mark_words(mm, plan.units) in story
    if not plan.runs:
        assert plan.why_none in story


def test_each_dimension_is_there_in_inches_and_millimetres(tmp_path):
    # the corner wall of the opening's tests: strip from 35 1/2 to 39 1/2 in, modules'
    # edge 37 1/2, corner piece 41 1/2, seam 48 in above it; corner studs at 240, 256
    plan, root = drawn(tmp_path, ROOMS[2])
    said = {e.text for e in root.iter(f"{SVG}text")}
    for words in (
        "35 1/2 in (902 mm)", "37 1/2 in (953 mm)", "39 1/2 in (1003 mm)",
        "41 1/2 in (1054 mm)", "7 ft 5 1/2 in (2273 mm)", "11 ft 4 in (3454 mm)",
        "20 ft (6096 mm)", "21 ft 4 in (6502 mm)", "20 ft 6 1/2 in (6261 mm)",
        "18 ft 8 in (5690 mm)", "18 ft (5486 mm)",
    ):  # fmt: skip
        assert words in said
    measures = [t for t in said if "mm)" in t and ":" not in t and "," not in t]
    assert all(BOTH.match(t) for t in measures)
    assert len(plan.runs[0].studs_mm) == 19


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda s: s.name)
def test_studs_and_strips_are_drawn_to_scale(tmp_path, sheet):
    plan, root = drawn(tmp_path, ROOMS[7], sheet)
    strips = {
        (round(float(n.get("width")), 1), round(float(n.get("height")), 1))
        for n in root.iter(f"{SVG}rect")
        if "url" in n.get("fill", "")
    }
    floor = [n for n, _, _ in placed(root) if n.get("class") == "owall"]
    scale = float(floor[0].get("height")) / 3750.0  # the ceiling of this room
    if sheet is not NARROW:  # there strips go on from part to part
        for run in plan.runs:
            for strip in run.strips:
                size = (strip.rect.width_mm * scale, strip.rect.height_mm * scale)
                assert any(
                    abs(size[0] - w) < 0.15 and abs(size[1] - h) < 0.15
                    for w, h in strips
                )
    wide = sum(w for w, h in strips if h < 200 * scale)
    assert wide > 0
    studs = [n for n in root.iter(f"{SVG}rect") if n.get("class") == "ostud"]
    assert len(studs) >= sum(len(r.studs_mm) for r in plan.runs)


def test_the_picture_holds_its_own_looks_and_nothing_from_outside(tmp_path):
    _, root = drawn(tmp_path, ROOMS[2])
    looks = "".join(e.text for e in root.iter(f"{SVG}style"))
    assert "prefers-color-scheme:dark" in looks
    assert "@media print" in looks
    for tone in re.findall(r"var\(--([a-z0-9-]+)\)", looks):
        assert tone in tokens.LIGHT or tone.startswith("type"), tone
    assert not re.search(r"https?://", ET.tostring(root, encoding="unicode")
                         .replace("http://www.w3.org/2000/svg", ""))  # fmt: skip


def test_pictures_for_the_page_have_ids_of_their_own(tmp_path):
    _, takeoff = measured(tmp_path, ROOMS[5])
    found = opening_pictures(takeoff.opening)
    # three runs and the sheets, for each of two widths
    assert [(p.of, p.sheet) for p in found] == [
        (of, sheet)
        for sheet in ("wide", "narrow")
        for of in ("r1", "r2", "r3", "backing")
    ]
    ids = [
        e.get("id") for p in found for e in ET.fromstring(p.svg).iter() if e.get("id")
    ]
    hatches = [i for i in ids if str(i).startswith("opening-out")]
    assert len(set(ids)) == len(ids) - len(hatches) + len(set(hatches))


def test_a_masonry_wall_has_no_pictures_for_the_page(tmp_path):
    _, takeoff = measured(tmp_path, ROOMS[4])
    assert opening_pictures(takeoff.opening) == ()
    assert b"a masonry wall isn't opened" in opening_svg(takeoff.opening, name="x")


def test_a_hard_name_stays_text(tmp_path):
    _, takeoff = measured(tmp_path, ROOMS[0])
    root = ET.fromstring(opening_svg(takeoff.opening, name='<b>&"\x07'))
    assert any(e.text == 'Opening the wall: <b>&"' for e in root.iter(f"{SVG}text"))


def test_the_same_opening_gives_the_same_bytes(tmp_path):
    pictures = {
        opening_svg(measured(tmp_path, ROOMS[5])[1].opening, name="a") for _ in range(2)
    }
    assert len(pictures) == 1


def test_every_piece_is_listed_with_its_size_and_place(tmp_path):
    _, takeoff = measured(tmp_path, ROOMS[2])
    lines = backing_lines(takeoff.opening)
    assert len(lines) == len(takeoff.opening.backing)
    assert lines[0] == (
        "P1: 8 ft (2438 mm) wide, 4 in (102 mm) high, r1, from 0 in (0 mm) and "
        "35 1/2 in (902 mm) above the floor"
    )
    first = board_lines(takeoff.opening)[0]
    assert first.startswith("B1: 16 in (406 mm) wide")


@pytest.mark.parametrize(
    ("wanted", "out"),
    [
        ([0, 5, 50], [0, 10, 50]),  # pushed on by the one before
        ([0, 95, 99], [0, 90, 100]),  # and back by the end
        ([30, 30, 30], [30, 40, 50]),
    ],
)
def test_labels_are_spread_apart_and_kept_in_order(wanted, out):
    assert spread(wanted, 10, 0, 100) == out


def test_a_length_left_of_the_start_has_a_sign(tmp_path):
    assert mark_words(-20.0, Units.US) == "-13/16 in (-20 mm)"
    assert mark_words(952.5, Units.US) == "37 1/2 in (953 mm)"  # halves go up

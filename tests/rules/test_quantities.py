"""What the work uses up, by hand and by property; the kit and room are the defaults.

Default kit: modules 1219.2 mm wide, radius 914.4, height 952.5; so a module's face is
pi/2 x 914.4 + 2 x 38.1 = 1512.5 mm long across the cove.

Tests of planner/planning/wording/supplies.py, planner/trade/buying/measures.py,
planner/trade/buying/quantities.py, planner/trade/buying/supplies.py.
"""

import math
import re
import tomllib
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from importlib.resources import files
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.errors import JobFileError
from planner.files.job.jobfile import read_job
from planner.measures import Units
from planner.nouns.purchase import PlannedSupply
from planner.planning.wording import supplies as by_days
from planner.trade.buying import supplies
from planner.trade.buying.measures import MEASURES
from planner.trade.buying.quantities import packs_for, quantities, tools
from planner.trade.buying.supplies import Figure, Pack
from planner.trade.data import labour, materials
from planner.trade.takeoff import take_off
from planner.trade.work import work
from tests.support.plans import made_plan
from tests.support.values import STRAIGHT, changed, job_file, kit

HALIFAX = ZoneInfo("America/Halifax")
COVE_M = (math.pi / 2 * 914.4 + 2 * 38.1) / 1000
# The backing's strip goes from the free end at 0 to the stud at 13 x 406.4 = 5283.2 mm;
# past the end at 5 m its seam goes down 4 in and back 283.2 mm. The long seam lies 2 in
# above the modules' edge, so compound goes 2 in further for it.
SEAM_M = 5.2832 + 0.1016 + 0.2832
# Five modules in 5 m: four joints, and the edges of the pieces at the two free ends.
JOINTS_M = (4 + 2) * COVE_M + 2 * 5
FEATHER_M2 = JOINTS_M * 0.254 + 5.2832 * 0.0508 + (0.1016 + 0.2832) * 0.254
ENDS_M2 = 2 * 0.9144**2 * (1 - math.pi / 4)
CORNER = changed(
    STRAIGHT,
    ('length = "5 m"', 'length = "5 m"\nmeets = "side"'),
    (
        '[[crew]]\nname = "Ana"',
        '[[stage.run]]\nname = "side"\nlength = "4 m"\n[[crew]]\nname = "Ana"',
    ),
)
OWN = """
[[product]]
id = "our-primer"
like = "water-primer"
sheet = "sheet of 3 March"
"""


def parts(folder, text=STRAIGHT, methods="", wall=""):
    """The job, its take-off, its products and its tasks."""
    head = f"[methods]\n{methods}\n[stage]\n" + (f'wall = "{wall}"\n' if wall else "")
    job = read_job(job_file(folder, changed(text, ("[stage]", head))))
    takeoff = take_off(job, ids=tuple(r.name for r in job.stage.runs))
    products = materials.merged(job.products)
    tasks = [t for t in work(job, takeoff, products).tasks if not t.optional]
    return job, takeoff, products, tasks


def found(folder, *args, **kwargs):
    """Every quantity by its id."""
    return {q.id: q for q in quantities(*parts(folder, *args, **kwargs))}


# ------------------------------------------------------------------- fasteners


def test_bolts_stand_every_300_mm_and_at_both_ends_of_a_joint(tmp_path):
    # 5 m: four whole modules and a cut one, four joints of 1512.5 mm; six spaces of
    # at most 300 mm, so seven bolts each
    q = found(tmp_path)["bolts"]
    assert q.net == 4 * 7
    assert q.packs == 1  # 28 and a tenth: 30.8 of 50


def test_washers_are_two_a_bolt(tmp_path):
    for text in (STRAIGHT, CORNER):
        q = found(tmp_path, text)
        assert q["washers"].net == 2 * q["bolts"].net > 0


def test_runs_are_bolted_to_the_corner_piece_too(tmp_path):
    # 5 m and 4 m less a leg of 1054.1 mm each: four modules and three; five joints
    # between them and two to the corner piece. The uprights: 2900 - 1054.1 mm, two
    # pieces of at most 1219.2, so a joint between them and one to the corner piece,
    # pi/2 x 914.4 + 2 x 139.7 = 1715.7 mm long: seven bolts.
    assert found(tmp_path, CORNER)["bolts"].net == (3 + 2 + 2) * 7 + 2 * 7


def test_screws_along_the_wall_edge_begin_anew_on_each_side_of_a_corner(tmp_path):
    # 5 m / 300 mm: 16.7; the edge of a free end, 1512.5 mm / 300: 5.04, on each side
    assert found(tmp_path)["wall-screws"].net == 17 + 1 + 2 * (6 + 1)
    # runs of 3945.9 and 2945.9 mm: 14 + 1 and 10 + 1; the corner's two sides
    _, takeoff, _, _ = parts(tmp_path, CORNER)
    side_mm = next(b for b in takeoff.bays if b.id == "corner").wall_edge_mm / 2
    sides = 2 * (math.ceil(side_mm / 300) + 1)
    assert found(tmp_path, CORNER)["wall-screws"].net == 15 + 11 + sides + 2 * 7


def test_each_floor_hole_takes_one_concrete_screw(tmp_path):
    q = found(tmp_path)["concrete-screws"]
    assert q.net == 3 * 5  # three holes a module
    _, _, _, tasks = parts(tmp_path)
    assert next(t for t in tasks if t.id == "anchor.wall").quantity == "15 holes"


# --------------------------------------------------------------- glue and filling


def test_adhesive_is_a_bead_along_the_wall_edge_and_the_front_edge(tmp_path):
    # two beads of 5 m; 8 mm round: pi/4 x 64 = 50.27 ml a metre; 503 ml and a tenth
    q = found(tmp_path)["adhesive"]
    assert q.net == pytest.approx(10 * math.pi / 4 * 64 / 1000)
    assert q.packs == 2  # 553 ml in cartridges of 300


def test_mortar_is_1_2_litres_for_each_metre_of_wall(tmp_path):
    q = found(tmp_path)
    assert q["mortar"].net == pytest.approx(5 * 1.2)
    assert "foam" not in q


def test_foam_is_a_bead_behind_the_toe_and_the_wall_edge(tmp_path):
    q = found(tmp_path, methods='fill = "foam"')
    # 25 mm thick: pi/4 x 2.5² = 4.909 cm², 0.4909 l a metre, twice along 5 m of wall
    assert q["foam"].net == pytest.approx(2 * 5 * 0.4909, rel=1e-4)
    assert q["foam"].packs == 1  # 4.9 l and a tenth, of a can's 35 l
    assert "mortar" not in q


def test_mortar_is_a_bed_and_the_rest_behind_the_edge(tmp_path):
    # 5 m of wall: a quarter of 1.2 l under each metre of the edge, the rest behind it
    q = found(tmp_path)["mortar"]
    nets = {s.task: s.net for s in q.shares}
    assert nets["bed.wall"] == pytest.approx(5 * 0.3)
    assert nets["pack.wall"] == pytest.approx(5 * 0.9)


# -------------------------------------------------------------- joints and coats


def test_joint_tape_is_the_joints_and_a_tenth_more(tmp_path):
    q = found(tmp_path)["joint-tape"]
    joints_m = JOINTS_M + SEAM_M
    assert q.net == pytest.approx(joints_m)
    assert q.with_waste == pytest.approx(1.1 * joints_m)
    assert q.packs == 1  # a roll of 76.2 m


def test_mesh_is_bought_in_place_of_paper(tmp_path):
    paper = found(tmp_path)
    mesh = found(tmp_path, methods='tape = "mesh"')
    assert "mesh-tape" not in paper
    assert "joint-tape" not in mesh
    assert mesh["mesh-tape"].net == pytest.approx(paper["joint-tape"].net)


def test_compound_is_the_feathered_area_at_half_a_coats_thickness(tmp_path):
    q = found(tmp_path, methods="setting_coats = 2\ntopping_coats = 1")
    area_m2 = FEATHER_M2
    assert q["topping"].net == pytest.approx(area_m2 * 1.5875 / 2)
    bed_l = q["setting-compound"].net - 2 * q["topping"].net
    # the bed under the tape: two inches wide, a coat thick as it is laid
    assert bed_l == pytest.approx((JOINTS_M + SEAM_M) * 0.0508 * 1.5875)
    assert "drying-compound" not in q


def test_tape_is_bedded_in_the_compound_of_the_first_coat_and_mesh_in_none(tmp_path):
    bed_l = (JOINTS_M + SEAM_M) * 0.0508 * 1.5875
    methods = "setting_coats = 0\ndrying_coats = 2"
    q = found(tmp_path, methods=methods)
    coats_l = 2 * FEATHER_M2 * 1.5875 / 2
    assert q["drying-compound"].net == pytest.approx(coats_l + bed_l)
    assert "setting-compound" not in q
    mesh = found(tmp_path, methods='tape = "mesh"\nsetting_coats = 2')
    assert mesh["setting-compound"].net == pytest.approx(coats_l)


def test_primer_and_colour_are_area_times_coats_by_coverage(tmp_path):
    q = found(tmp_path, methods="primer_coats = 2\ncolour_coats = 3")
    wall_m2 = 5 * COVE_M + 5 * (2.9 - 0.9525) + ENDS_M2
    # and the compound on the floor, 5 in (0.127 m) beyond the front edge
    assert q["primer"].net == pytest.approx(2 * (wall_m2 + 5 * 0.127) / 7.36)
    # the default apron: 8 ft from the wall
    _, takeoff, _, _ = parts(tmp_path)
    floor_m2 = takeoff.apron_m2
    assert q["colour"].net == pytest.approx(3 * (wall_m2 + floor_m2) / 7.36)


def test_an_apron_that_takes_no_colour_needs_none(tmp_path):
    q = found(tmp_path, methods="colour_on_apron = false\nprimer_coats = 2")
    assert q["colour"].net == pytest.approx(q["primer"].net)


def test_a_second_colour_is_bought_apart(tmp_path):
    methods = '[methods.second_colour]\nbays = ["apron"]\ncoats = 2'
    q = found(tmp_path, methods=methods)
    _, takeoff, _, _ = parts(tmp_path, methods=methods)
    assert q["second-colour"].net == pytest.approx(2 * takeoff.apron_m2 / 7.36)
    assert "first" not in q["second-colour"].title
    assert q["masking-tape"].net > found(tmp_path)["masking-tape"].net


def test_a_bonding_agent_is_bought_where_it_is_used(tmp_path):
    assert "bonding" not in found(tmp_path)
    q = found(tmp_path, methods="bonding_agent = true")
    assert q["bonding"].net == pytest.approx(FEATHER_M2 / 7.36)


# ------------------------------------------------------------------- the backing


def test_a_furred_wall_takes_board_and_strips_and_no_plywood(tmp_path):
    q = found(tmp_path, methods='backing = "furred"')
    # board from 35 1/2 in (0.9017 m) up: 1.9983 m high
    assert q["board"].net == pytest.approx(5 * 1.9983)
    assert q["board"].packs == 4  # 9.99 m² and a twentieth: 10.5 in sheets of 2.97
    # two level strips; over them, 5 in (0.127 m) up, 14 at studs 406.4 mm apart
    assert q["furring"].net == pytest.approx(2 * 5 + 14 * 1.8713)
    # a screw at least every 400 mm: 14 in each level strip, 6 in each upright
    assert q["strip-screws"].net == 2 * 14 + 14 * 6
    assert "plywood" not in q
    assert "board" not in found(tmp_path)


def test_masonry_takes_plugs_instead_of_screws_into_studs(tmp_path):
    q = found(tmp_path, methods='backing = "furred"', wall="masonry")
    # no more than 600 mm apart: 10 in each level strip, 5 in each upright
    assert q["wall-plugs"].net == 2 * 10 + 14 * 5
    assert "strip-screws" not in q


def test_the_backing_is_what_the_opening_plan_cuts(tmp_path):
    _, takeoff, _, _ = parts(tmp_path)
    area = sum(p.rect.width_mm * p.rect.height_mm for p in takeoff.opening.backing)
    q = found(tmp_path)["plywood"]
    assert q.net == pytest.approx(area * 1e-6)
    # whole sheets from the cutting list, at least as many as the area fills
    assert q.packs == len(takeoff.opening.sheets())
    assert q.packs * q.pack_holds >= q.net > 0


# ---------------------------------------------------------------- people's safety


def test_solvent_asks_for_a_pair_of_filters_for_each_of_the_largest_team(tmp_path):
    assert "vapour-filters" not in found(tmp_path)
    q = found(tmp_path, methods='primer = "solvent-primer"\nprimer_coats = 2')
    most = max(t.size for t in labour.rates()["prime"].teams)
    assert q["vapour-filters"].net == 2 * most


def test_dusty_work_asks_for_masks(tmp_path):
    _, _, _, tasks = parts(tmp_path)
    row = next(s for s in supplies.supplies() if s.id == "masks")
    phases = row.uses[0].phases
    hours = sum(t.person_hours for t in tasks if t.phase in phases)
    assert found(tmp_path)["masks"].net == pytest.approx(hours / 4)


# ----------------------------------------------------------------- users' products


def test_a_users_coverage_and_pack_come_first(tmp_path):
    text = STRAIGHT + OWN + 'coverage = "400 ft2/gal"\npack = "5 gal"\n'
    plain = found(tmp_path)["primer"]
    q = found(tmp_path, text, methods='primer = "our-primer"')["primer"]
    assert q.net == pytest.approx(plain.net * 7.36 / (400 * 0.09290304 / 3.785411784))
    assert q.pack_holds == pytest.approx(18.927, abs=0.001)
    assert q.packs == 1
    assert any("sheet of 3 March (user)" in words for words in q.reckoned)


def test_a_users_coverage_of_a_compound_replaces_its_thickness(tmp_path):
    own = OWN.replace("our-primer", "our-mud").replace("water-primer", "topping")
    q = found(
        tmp_path,
        STRAIGHT + own + 'coverage = "2 m2/l"\n',
        methods='topping = "our-mud"\ntopping_coats = 1',
    )["topping"]
    assert q.net == pytest.approx(FEATHER_M2 / 2)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ('coverage = "0 m2/l"', '"0 m2/l" is not between'),
        ('coverage = "-9 m2/l"', '"-9 m2/l" is not between'),
        ("coverage = 9", "has no unit"),
        ('coverage = "9 l/m2"', "is not a coverage"),
        ('pack = "0 l"', '"0 l" is not between'),
        ('pack = "-1 gal"', '"-1 gal" is not between'),
    ],
)
def test_a_coverage_or_pack_that_cannot_be_is_a_fault(tmp_path, line, said):
    with pytest.raises(JobFileError) as caught:
        read_job(job_file(tmp_path, STRAIGHT + OWN + line + "\n"))
    assert said in str(caught.value.faults[0])
    assert caught.value.faults[0].where.startswith("job.toml: product.1")


def test_coverage_of_what_is_not_laid_by_the_area_is_a_fault(tmp_path):
    own = OWN.replace("water-primer", "adhesive") + 'coverage = "9 m2/l"\n'
    with pytest.raises(JobFileError) as caught:
        read_job(job_file(tmp_path, STRAIGHT + own))
    assert "not laid by the area" in str(caught.value.faults[0])


@pytest.mark.parametrize("coverage", [0.0, -1.0])
def test_a_product_without_coverage_is_refused_not_divided_by(tmp_path, coverage):
    job, takeoff, products, tasks = parts(tmp_path)
    bad = replace(products["water-primer"], coverage_m2_per_l=coverage)
    with pytest.raises(ValueError, match="coverage_m2_per_l"):
        quantities(job, takeoff, {**products, "water-primer": bad}, tasks)


# -------------------------------------------------------------------------- packs


@pytest.mark.parametrize(
    ("amount", "holds", "packs"),
    [(0, 50, 0), (1, 50, 1), (50, 50, 1), (50.001, 50, 2), (100, 50, 2), (0.3, 0.1, 3)],
)
def test_packs_are_rounded_up(amount, holds, packs):
    assert packs_for(amount, holds) == packs


@pytest.mark.parametrize(
    ("amount", "holds"), [(1, 0), (1, -2), (-1, 2), (math.nan, 1), (1, math.nan)]
)
def test_packs_of_nothing_and_less_than_nothing_are_refused(amount, holds):
    with pytest.raises(ValueError, match=r"is not more than 0|is less than 0"):
        packs_for(amount, holds)


def test_records_refuse_what_cannot_be():
    source = supplies.hire_gap_days().source
    with pytest.raises(ValueError, match="value"):
        Figure(value=-0.1, source=source)
    with pytest.raises(ValueError, match="holds"):
        Pack(holds=0.0, words="nothing", source=source)


# ---------------------------------------------------------------------- properties

rooms = st.fixed_dictionaries(
    {
        "north_mm": st.floats(3_000, 30_000),
        "east_mm": st.floats(3_000, 30_000),
        "ceiling_mm": st.floats(2_300, 6_000),
        "corner": st.booleans(),
        "backing": st.sampled_from(["inlaid", "furred"]),
        "fill": st.sampled_from(["mortar", "foam"]),
        "bonding": st.booleans(),
        "coats": st.integers(1, 3),
    }
)


def room_text(room, say):
    """A job file of a room; `say` writes a length."""
    return f"""
[job]
name = "a room"
time_zone = "America/Halifax"
earliest = 2027-02-08
[survey]
own_making = true
{kit(say)}[stage]
ceiling = "{say(room["ceiling_mm"])}"
apron = "{say(2500.0)}"
[[stage.run]]
name = "north"
length = "{say(room["north_mm"])}"
{'meets = "east"' if room["corner"] else ""}
[[stage.run]]
name = "east"
length = "{say(room["east_mm"])}"
[methods]
backing = "{room["backing"]}"
fill = "{room["fill"]}"
bonding_agent = {"true" if room["bonding"] else "false"}
setting_coats = {room["coats"]}
primer_coats = {room["coats"]}
[[crew]]
name = "Ana"
trades = ["carpenter", "finisher", "painter"]
"""


def metric(mm):
    return f"{mm:.6f} mm"


def imperial(mm):
    return f"{mm / 25.4:.9f} in"


def of_room(folder, room, say=metric):
    # packs are those of the job's country, whatever its file is written in
    job = replace(read_job(job_file(folder, room_text(room, say))), units=Units.US)
    takeoff = take_off(job, ids=("north", "east"))
    products = materials.merged(job.products)
    tasks = [t for t in work(job, takeoff, products).tasks if not t.optional]
    return {q.id: q for q in quantities(job, takeoff, products, tasks)}, takeoff, tasks


few = settings(max_examples=25)


@few
@given(room=rooms, times=st.floats(1.0, 2.0))
def test_a_bigger_room_never_needs_fewer_packs(tmp_path_factory, room, times):
    folder = tmp_path_factory.mktemp("room")
    small, _, _ = of_room(folder, room)
    grown = {**room, "north_mm": room["north_mm"] * times}
    taller = {**room, "ceiling_mm": room["ceiling_mm"] * times}
    for bigger in (grown, taller):
        large, _, _ = of_room(folder, bigger)
        for id_, q in small.items():
            # Strips of backing begin and end on studs, which stay where they are when
            # the wall grows: a corner's strip may be a stud narrower then.
            if id_ in ("plywood", "backing-screws"):
                continue
            assert large[id_].packs >= q.packs, id_
            assert large[id_].net >= q.net * (1 - 1e-9), id_


@few
@given(room=rooms)
def test_twice_the_coats_is_twice_the_primer(tmp_path_factory, room):
    folder = tmp_path_factory.mktemp("room")
    once, _, _ = of_room(folder, {**room, "coats": 1})
    twice, _, _ = of_room(folder, {**room, "coats": 2})
    assert twice["primer"].net == pytest.approx(2 * once["primer"].net)
    assert twice["primer"].packs <= 2 * once["primer"].packs
    # of compound there is the bed under the tape too, once
    coat = twice["setting-compound"].net - once["setting-compound"].net
    bed_m2 = once["joint-tape"].net * 0.0508
    assert once["setting-compound"].net - coat == pytest.approx(bed_m2 * 1.5875)


@few
@given(room=rooms)
def test_the_unit_system_changes_nothing(tmp_path_factory, room):
    folder = tmp_path_factory.mktemp("room")
    # lengths that both systems write exactly: whole sixteenths of an inch
    for key in ("north_mm", "east_mm", "ceiling_mm"):
        room = {**room, key: round(room[key] / 1.5875) * 1.5875}
    a, _, _ = of_room(folder, room, metric)
    b, _, _ = of_room(folder, room, imperial)
    assert a.keys() == b.keys()
    for id_, q in a.items():
        assert b[id_].net == pytest.approx(q.net, rel=1e-9)
        assert b[id_].packs == q.packs
        assert b[id_].reckoned == q.reckoned


@few
@given(room=rooms)
def test_the_bays_add_up_to_what_the_tasks_lay(tmp_path_factory, room):
    q, takeoff, tasks = of_room(tmp_path_factory.mktemp("room"), room)
    bays = {b.id for b in takeoff.bays}
    for one in q.values():
        assert {s.bay for s in one.shares} <= bays | {""}
        by_bay = [
            math.fsum(s.net for s in one.shares if s.bay == b) for b in (*bays, "")
        ]
        assert math.fsum(by_bay) == pytest.approx(one.net)
        assert all(s.net >= 0 for s in one.shares)
    # the area that the tasks themselves say they lay
    for id_, phase, per_m2 in (
        ("primer", "prime", 1 / 7.36),
        ("colour", "colour", 1 / 7.36),
        ("setting-compound", "setting-coat", 1.5875 / 2),
        ("topping", "topping-coat", 1.5875 / 2),
    ):
        laid_m2 = sum(t.wet_m2 for t in tasks if t.phase == phase)
        coats = sum(s.net for s in q[id_].shares if not s.task.startswith("tape."))
        assert coats == pytest.approx(laid_m2 * per_m2)


# ------------------------------------------------------------------------ the data


def test_every_row_names_work_and_measures_that_are_there():
    rates = labour.rates()
    for row in supplies.supplies():
        assert row.uses, row.id
        for use in row.uses:
            assert set(use.phases) <= rates.keys(), row.id
            assert use.measure in MEASURES, row.id
        assert row.laid == ("{product}" in row.title)
    for tool in supplies.tools():
        assert set(tool.phases) <= rates.keys(), tool.id
        assert tool.each in ("team", "person")


def test_every_number_says_where_it_comes_from(tmp_path):
    tags = ("read", "weak page", "from memory, edit me", "computed", "common practice")
    for q in found(tmp_path, CORNER).values():
        assert len(q.reckoned) >= 2
        for words in q.reckoned:
            cut = "cut to" in words  # which modules are cut: from the take-off
            assert cut or any(f"{t})" in words for t in tags), words


def test_the_kit_is_on_the_list_with_what_is_cut_of_it(tmp_path):
    # 5 m less a leg of 1054.1 mm: three of 1219.2 and 288.3 over; 4 m: two and 507.5
    q = found(tmp_path, CORNER)
    counts = {k: q[k].net for k in ("straight-modules", "corner-pieces", "uprights")}
    assert counts == {"straight-modules": 4 + 3, "corner-pieces": 1, "uprights": 2}
    assert q["end-pieces"].net == 2
    said = " ".join(q["straight-modules"].reckoned)
    assert "wall: one module cut to 288 mm (11 3/8 in)" in said
    # 5 m alone: four of 1219.2 leave 123.2 mm, too narrow; three and two of 671.2
    alone = found(tmp_path)["straight-modules"]
    assert alone.net == 5
    words = " ".join(alone.reckoned)
    assert "two modules cut to" in words
    assert "671 mm (" in words
    assert "a sliver of 123 mm (4 7/8 in)" in words


# ---------------------------------------------------------------- days of a plan


def planned(phase, start, hours=1.0, team=("ana",), bay="wall", product=None, n=1):
    """A task of a plan; everything else is of no account here."""
    any_task = made_plan().tasks[0]
    end = start + timedelta(hours=hours)
    return replace(
        any_task,
        id=f"{phase}-{n}.{bay}",
        phase=phase,
        bays=(bay,),
        start=start,
        end=end,
        spans=((start, end),),
        team=team,
        product=product,
    )


def at(day, hour, minute=0):
    month, number = day
    wall = datetime(2027, month, number, hour, minute, tzinfo=HALIFAX)
    return wall.astimezone(UTC)


def on_site(folder, *tasks, manned=()):
    job, takeoff, products, _ = parts(folder)
    return {s.id: s for s in by_days.bought(job, takeoff, products, tasks, manned)}


def test_what_needs_no_lead_is_on_site_the_day_of_the_first_task(tmp_path):
    bought = on_site(
        tmp_path,
        planned("tape", at((2, 17), 14), n=1),
        planned("tape", at((2, 16), 8), n=2),
    )["joint-tape"]
    assert bought.on_site == date(2027, 2, 16)
    assert bought.first_use == at((2, 16), 8)
    assert bought.lead_h == 0


def test_compound_lies_on_site_for_48_hours_first(tmp_path):
    # ASTM C840 §4.1: 50 °F from 48 h before; Wed 08:00 is Mon 08:00
    coat = planned("setting-coat", at((2, 17), 8), product="setting-90")
    bought = on_site(tmp_path, coat)["setting-compound"]
    assert bought.lead_h == 48
    assert bought.on_site == date(2027, 2, 15)
    assert any("48 h before use: ASTM C840" in words for words in bought.reckoned)


def test_what_falls_on_a_day_off_comes_on_the_last_day_somebody_is_there(tmp_path):
    # 48 h before Tue 16 Feb 08:00 is Sunday the 14th; the crew is there on Fri and Mon
    coat = planned("setting-coat", at((2, 16), 8), product="setting-90")
    crew = {date(2027, 2, 12), date(2027, 2, 15), date(2027, 2, 16)}
    bought = on_site(tmp_path, coat, manned=crew)["setting-compound"]
    assert bought.on_site == date(2027, 2, 12)
    crew.add(date(2027, 2, 14))
    bought = on_site(tmp_path, coat, manned=crew)["setting-compound"]
    assert bought.on_site == date(2027, 2, 14)


def test_hours_before_use_are_hours_across_a_clock_change(tmp_path):
    # Clocks go forward on Sun 14 Mar 2027: 48 h before Mon 00:30 is Fri 23:30
    coat = planned("topping-coat", at((3, 15), 0, 30), product="topping")
    assert on_site(tmp_path, coat)["topping"].on_site == date(2027, 3, 12)


def needed(folder, *tasks):
    job, _, _, _ = parts(folder)
    return {t.id: t for t in by_days.needed(job, tasks)}


def test_tools_are_counted_at_the_busiest_moment(tmp_path):
    got = needed(
        tmp_path,
        planned("drill", at((2, 15), 8), hours=2, n=1, team=("ana", "bo")),
        planned("drill", at((2, 15), 9), hours=2, n=2),
        planned("drill", at((2, 15), 11), hours=1, n=3),  # begins as another ends
    )
    assert got["rotary-hammer"].count == 2
    assert got["ears"].count == 3  # one for each of the people
    assert got["rotary-hammer"].days == (date(2027, 2, 15),)


def test_a_hired_tool_stays_over_a_weekend_but_not_over_a_week(tmp_path):
    days = [(2, 11), (2, 12), (2, 15), (2, 22)]  # Thu, Fri, Mon, Mon after
    got = needed(
        tmp_path, *(planned("drill", at(d, 8), n=n) for n, d in enumerate(days, 1))
    )["rotary-hammer"]
    assert got.hire
    assert got.periods == (
        (date(2027, 2, 11), date(2027, 2, 15)),
        (date(2027, 2, 22), date(2027, 2, 22)),
    )
    assert len(got.days) == 4


@pytest.mark.parametrize(("gap", "count"), [(0, 1), (3, 1), (4, 2)])
def test_periods_close_gaps_of_so_many_days(gap, count):
    first = date(2027, 2, 8)
    days = [first, first + timedelta(days=1 + gap)]
    assert len(by_days.periods(days, 3)) == count


def test_work_that_ends_at_midnight_needs_no_tool_on_the_next_day(tmp_path):
    got = needed(tmp_path, planned("drill", at((2, 15), 22), hours=2))
    assert got["rotary-hammer"].days == (date(2027, 2, 15),)


def test_a_platform_is_needed_only_under_a_high_ceiling(tmp_path):
    low = changed(STRAIGHT, ('ceiling = "2.9 m"', 'ceiling = "2.7 m"'))
    for text, needs in ((STRAIGHT, True), (low, False)):
        job, _, _, tasks = parts(tmp_path, text)
        assert ("platform" in {t.id for t, _ in tools(job, tasks)}) is needs


def test_work_and_tools_are_told_in_the_jobs_measures_with_no_braces_left(tmp_path):
    job, _, _, tasks = parts(tmp_path, STRAIGHT)  # its slab is tested, its wall painted
    told = [w for t in tasks for w in (t.title, *t.bring, *t.cautions)]
    told += [t.title for t, _ in tools(job, tasks)]
    assert [w for w in told if "|" in w] == []
    assert any("457 mm (18 in)" in w for w in told)  # of the sheet on the slab
    assert any("roller frames, 230 mm (9 in)" in w for w in told)


def test_without_a_plan_nothing_has_a_day(tmp_path):
    job, takeoff, products, tasks = parts(tmp_path)
    bought, lent = by_days.unplanned(job, takeoff, products, tasks)
    assert bought
    assert lent
    assert all(s.on_site is None and s.first_use is None for s in bought)
    assert all(t.count is None and t.days == () == t.periods for t in lent)
    assert isinstance(bought[0], PlannedSupply)


def test_every_source_is_used_by_a_number_of_the_data():
    text = files("planner.trade.buying").joinpath("supplies.toml").read_text("utf-8")
    names = set(tomllib.loads(text)["source"])
    used = set(re.findall(r'source = "([a-z0-9-]+)"', text))
    assert names == used


# ------------------------------------------------------------ as the crew buys it


def test_the_crews_own_pack_and_waste_come_before_the_datas(tmp_path):
    own = """[[supply]]
id = "bolts"
pack = "box of 20"
holds = "20"
waste = "50 %"
source = "our bolt shop"

[[supply]]
id = "joint-tape"
pack = "roll of 75 m"
holds = "75 m"

[stage]"""
    text = changed(STRAIGHT, ("[stage]", own))
    theirs, data = found(tmp_path, text), found(tmp_path)
    bolts = theirs["bolts"]
    # 28 bolts and half as many on top are 42: three boxes of 20.
    assert (bolts.net, bolts.packs, bolts.pack) == (28, 3, "box of 20")
    assert any("our bolt shop" in words for words in bolts.reckoned)
    assert theirs["joint-tape"].pack_holds == pytest.approx(75.0)
    assert theirs["joint-tape"].waste_frac == data["joint-tape"].waste_frac
    assert {k for k in data if theirs[k] != data[k]} == {"bolts", "joint-tape"}

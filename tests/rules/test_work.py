"""The room and the methods become the work; the order is common practice, no source.

Tests of planner/trade/parts.py, planner/trade/phases/coats.py,
planner/trade/phases/delivery.py, planner/trade/phases/fixing.py,
planner/trade/phases/joints.py, planner/trade/phases/modules.py,
planner/trade/phases/slab.py, planner/trade/phases/wall.py, planner/trade/work.py.
"""

import math

import pytest

from planner.errors import JobFileError
from planner.files.job.jobfile import read_job
from planner.nouns.work import Pace
from planner.trade.data import materials
from planner.trade.takeoff import take_off
from planner.trade.work import work
from tests.support.values import STRAIGHT, changed, job_file

CORNER = changed(
    STRAIGHT,
    ('length = "5 m"', 'length = "5 m"\nmeets = "side"'),
    (
        '[[crew]]\nname = "Ana"',
        '[[stage.run]]\nname = "side"\nlength = "4 m"\n[[crew]]\nname = "Ana"',
    ),
)


def made(tmp_path, text=STRAIGHT, methods=""):
    text = changed(text, ("[stage]", f"[methods]\n{methods}\n[stage]"))
    job = read_job(job_file(tmp_path, text))
    ids = tuple(r.name for r in job.stage.runs)
    return work(job, take_off(job, ids=ids), materials.load())


def follows(w, after: str, before: str) -> bool:
    """Tell whether `after` comes after `before`, directly or not."""
    direct = {x.before for x in w.links if x.after == after}
    return before in direct or any(follows(w, d, before) for d in direct)


def wait_between(w, before: str, after: str) -> set[str | None]:
    return {
        x.wait.stage if x.wait else None
        for x in w.links
        if (x.before, x.after) == (before, after)
    }


def test_every_link_names_tasks_that_are_there_and_says_why(tmp_path):
    for text in (STRAIGHT, CORNER):
        w = made(tmp_path, text)
        ids = [t.id for t in w.tasks]
        assert len(ids) == len(set(ids))
        for link in w.links:
            assert {link.before, link.after} <= set(ids)
            assert link.reason


def test_crates_are_opened_before_anything_else(tmp_path):
    w = made(tmp_path, CORNER)
    for task in w.tasks:
        assert task.id == "intake" or follows(w, task.id, "intake")


def test_freight_sanding_and_trimming_need_no_closure(tmp_path):
    off = {t.phase for t in made(tmp_path, CORNER).tasks if not t.on_stage}
    assert off == {"intake", "count", "sand-modules", "trim", "cut"}


def test_modules_may_be_sanded_on_the_stage_instead(tmp_path):
    w = made(tmp_path, methods='sanding = "stage"')
    assert all(t.on_stage and t.dusty for t in w.tasks if t.phase == "sand-modules")


def test_setting_fastening_and_anchoring_go_from_the_corner_outwards(tmp_path):
    w = made(tmp_path, CORNER)
    for run in ("wall", "side"):
        assert follows(w, f"set.{run}", "set-corner.corner")
        assert follows(w, f"fasten.{run}", "fasten.corner")
        assert follows(w, f"drill.{run}", "drill.corner")
    # the runs are bolted to the corner piece before it is screwed to the wall
    assert follows(w, "fasten.corner", "set.wall")
    assert follows(w, "fasten.corner", "set.side")


def test_straight_modules_and_uprights_are_put_together_at_the_same_time(tmp_path):
    w = made(tmp_path, CORNER)
    assert not follows(w, "join.wall", "join-uprights.corner")
    assert not follows(w, "join-uprights.corner", "join.wall")


def test_the_edge_is_bedded_then_screwed_then_the_rest_is_packed(tmp_path):
    w = made(tmp_path, methods='fill = "mortar"')
    assert wait_between(w, "bed.wall", "anchor.wall") == {None}
    assert wait_between(w, "anchor.wall", "pack.wall") == {None}
    for mortar in ("bed.wall", "pack.wall"):
        assert wait_between(w, mortar, "floor.wall") == {"crust"}
    # the screws are begun while the bed is soft, whatever else happens
    bed = next(x for x in w.windows if x.before == "bed.wall")
    assert (bed.after, bed.latest, bed.unless) == ("anchor.wall", "pot life", "")


def test_all_that_is_primed_is_wiped_once_no_sanding_dust_can_fall(tmp_path):
    w = made(tmp_path, CORNER)
    for dusty in ("rub.wall", "rub.corner", "rub.side", "scuff.apron"):
        assert wait_between(w, dusty, "wipe") == {None}
    wet = {t.id: t.wet_m2 for t in w.tasks}
    # The apron is painted too: an apron of 2438.4 mm (8 ft) before runs of 5 and 4 m
    # that meet, 952.5 mm of cove between: 5 - 0.9525 and 4 - 0.9525 m long, the square
    # where they meet once; it lies 2438.4 mm deep. The corner piece's legs of 1054.1 mm
    # stand out of the coves and take a square of 101.6 mm of it.
    deep = 2.4384
    floor = deep * (5 - 0.9525 + 4 - 0.9525 - deep) - 0.1016**2
    assert wet["wipe"] == pytest.approx(wet["prime-1"] + floor)


def test_nothing_is_laid_on_the_floor_before_the_slab_is_known_dry(tmp_path):
    # ASTM D4263 (from memory): the sheet lies 16 h or more, one for each 500 ft²
    w = made(tmp_path, CORNER)
    assert wait_between(w, "test-slab.apron", "read-slab.apron") == {"read"}
    (lies,) = materials.product("slab-sheet").stages
    assert (lies.law, dict(lies.numbers)) == ("fixed", {"hours_h": 16.0})
    on_the_floor = {"floor", "scuff", "tape", "setting-coat", "prime", "colour"}
    for task in w.tasks:
        if task.phase in on_the_floor:
            assert follows(w, task.id, "read-slab.apron"), task.id
    read = next(t for t in w.tasks if t.id == "read-slab.apron")
    assert any("Not passed: nothing is laid on this floor" in c for c in read.cautions)


def test_a_floor_of_a_thousand_square_feet_takes_three_tests(tmp_path):
    # 500 ft² to a test (ASTM D4263, from memory): 20 m of wall and 5 m of floor are
    # 100 m², 2.15 times 46.5 m², and with it 5 in (127 mm) in front of the coves.
    text = changed(STRAIGHT, ('"5 m"', '"20 m"'), ("[stage]", '[stage]\napron = "5 m"'))
    test = next(t for t in made(tmp_path, text).tasks if t.phase == "test-slab")
    assert test.quantity == "3 tests"


def test_the_whole_floor_that_is_painted_is_scuffed_and_wiped(tmp_path):
    w = made(tmp_path)
    assert follows(w, "scuff.apron", "floor.wall")
    assert "apron" in next(t for t in w.tasks if t.id == "wipe").bays
    unpainted = made(tmp_path, methods="colour_on_apron = false")
    bare = {t.id for t in unpainted.tasks}
    assert "scuff.apron" not in bare
    assert "apron" not in next(t for t in unpainted.tasks if t.id == "wipe").bays
    assert "test-slab.apron" in bare  # compound and primer still lie on the floor
    flat = changed(STRAIGHT, ("[stage]", '[stage]\napron = "0 mm"'))
    assert not any(t.phase == "scuff" for t in made(tmp_path, flat).tasks)


def test_a_corner_is_screwed_as_it_is_set_and_never_left_half_done(tmp_path):
    corner = next(t for t in made(tmp_path, CORNER).tasks if t.phase == "set-corner")
    assert corner.pace is Pace.ONE_GO
    assert "screwed to the backing on both sides as it is set" in corner.how


def test_foam_goes_in_after_the_screws_and_somebody_stays_to_look(tmp_path):
    w = made(tmp_path, methods='fill = "foam"')
    assert follows(w, "foam.wall", "anchor.wall")
    foam = next(t for t in w.tasks if t.id == "foam.wall")
    assert foam.elapsed_h == 1.0
    assert foam.pace == Pace.ONE_GO
    assert not any(t.phase == "pack" for t in w.tasks)


def test_a_furred_wall_is_not_opened(tmp_path):
    phases = {t.phase for t in made(tmp_path, methods='backing = "furred"').tasks}
    assert "fur" in phases
    assert not {"open", "back"} & phases


def test_bonding_agent_dries_before_the_tape(tmp_path):
    w = made(tmp_path, methods="bonding_agent = true")
    assert wait_between(w, "bond.wall", "tape.wall") == {"recoat"}
    assert not follows(made(tmp_path), "tape.wall", "bond.wall")


@pytest.mark.parametrize(("gate", "stage"), [("set", "set"), ("dry", "dry")])
def test_setting_compound_gates_the_next_coat_as_chosen(tmp_path, gate, stage):
    w = made(tmp_path, methods=f'next_coat_after = "{gate}"')
    pair = ("setting-coat-1.wall", "setting-coat-2.wall")
    assert wait_between(w, *pair) == {stage}


def test_every_coat_is_dry_before_the_joints_are_sanded(tmp_path):
    w = made(tmp_path, methods="setting_coats = 2\ntopping_coats = 2")
    coats = [t.id for t in w.tasks if "coat" in t.phase]
    assert len(coats) == 4
    for coat in coats:
        assert wait_between(w, coat, "rub.wall") == {"dry"}


def test_colour_waits_for_the_shadow_check_and_each_coat_for_the_one_before(tmp_path):
    w = made(tmp_path, methods="primer_coats = 2\ncolour_coats = 3")
    assert wait_between(w, "prime-1", "prime-2") == {"recoat"}
    assert wait_between(w, "shadow", "colour-1") == {None}
    assert wait_between(w, "colour-2", "colour-3") == {"recoat"}
    assert next(t for t in w.tasks if t.id == "colour-1").pace == Pace.ONE_GO


def test_primer_follows_the_wiping_of_every_bay(tmp_path):
    w = made(tmp_path, CORNER)
    assert set(next(t for t in w.tasks if t.id == "wipe").bays) == set(w.bays)
    assert wait_between(w, "wipe", "prime-1") == {"recoat"}


def test_the_two_returns_wait_for_the_last_colour_coat_and_the_fill(tmp_path):
    light, full = made(tmp_path, methods="colour_coats = 2").returns
    said = {(t, w.stage if w else None) for t, w in light.after}
    assert said == {("handover", None), ("colour-2", "light foot traffic")}
    stages = {(t, w.stage if w else None) for t, w in full.after}
    assert ("colour-2", "full service") in stages
    assert ("pack.wall", "load") in stages
    assert ("anchor.wall", "full") in stages


def test_solvent_primer_gives_off_fumes(tmp_path):
    w = made(tmp_path, methods='primer = "solvent-primer"')
    assert all(t.fumes for t in w.tasks if t.phase == "prime")
    assert not any(t.fumes for t in made(tmp_path).tasks)


def test_a_longer_wall_takes_no_fewer_hours_in_any_task(tmp_path):
    short = {t.id: t.person_hours for t in made(tmp_path).tasks}
    long = {
        t.id: t.person_hours
        for t in made(tmp_path, changed(STRAIGHT, ('"5 m"', '"10 m"'))).tasks
    }
    # 5 m leave a sliver, shared between two cut modules; 10 m leave one to cut
    assert short.keys() == long.keys()
    assert short.pop("cut") == 2 * long.pop("cut")
    assert all(long[k] >= h for k, h in short.items())
    assert sum(long.values()) > sum(short.values())


def test_paper_tape_is_bedded_and_mesh_goes_under_setting_compound_alone(tmp_path):
    # Common practice, no source: drying types crack over mesh.
    paper = next(t for t in made(tmp_path).tasks if t.phase == "tape")
    assert "Paper tape" in paper.how
    assert "bed of the first compound" in paper.how
    mesh = next(
        t for t in made(tmp_path, methods='tape = "mesh"').tasks if t.phase == "tape"
    )
    assert "mesh tape" in mesh.how
    assert "first setting coat" in mesh.how
    assert "paper joint tape" not in mesh.bring
    with pytest.raises(JobFileError) as caught:
        made(tmp_path, methods='tape = "mesh"\nsetting_coats = 0')
    assert "methods.tape" in caught.value.faults[0].where


@pytest.mark.parametrize(
    ("methods", "first", "product", "stage"),
    [
        ("", "setting-coat-1.wall", "setting-90", "set"),
        ('next_coat_after = "dry"', "setting-coat-1.wall", "setting-90", "dry"),
        ("setting_coats = 0", "drying-coat-1.wall", "all-purpose", "dry"),
    ],
)
def test_the_bed_under_paper_tape_sets_or_dries_before_the_first_coat(
    tmp_path, methods, first, product, stage
):
    # Setting types may be covered once set (jlconline.com, read), every drying-type
    # coat is thoroughly dry before the next (GA-236 as reported, read).
    w = made(tmp_path, methods=methods)
    assert wait_between(w, "tape.wall", first) == {stage}
    tape = next(t for t in w.tasks if t.phase == "tape")
    assert (tape.product, tape.dry_stage) == (product, stage)
    # the water of a bed that only sets is its first coat's
    joints_m2 = next(t for t in w.tasks if t.id == first).wet_m2
    assert (tape.wet_m2 == 0.0) == (stage == "set")
    assert tape.wet_m2 < joints_m2


def test_mesh_is_bedded_in_the_first_coat_itself(tmp_path):
    w = made(tmp_path, methods='tape = "mesh"')
    tape = next(t for t in w.tasks if t.phase == "tape")
    assert (tape.product, tape.dry_stage, tape.wet_m2) == (None, None, 0.0)
    assert wait_between(w, "tape.wall", "setting-coat-1.wall") == {None}


def test_the_bed_is_mixed_in_batches_where_compound_sets(tmp_path):
    def tape(methods):
        text = changed(STRAIGHT, ("[stage]", f"[methods]\n{methods}\n[stage]"))
        job = read_job(job_file(tmp_path, text))
        ids = tuple(r.name for r in job.stage.runs)
        usable_h = {"setting-90": 0.5}
        w = work(job, take_off(job, ids=ids), materials.load(), usable_h)
        return next(t for t in w.tasks if t.phase == "tape")

    alone_h = tape('tape = "mesh"').person_hours
    # each half hour of it another batch, 0.15 h to mix: from memory
    mixed_h = math.ceil(alone_h / 0.5) * 0.15
    assert tape("").person_hours == pytest.approx(alone_h + mixed_h)
    assert "batches" in tape("").how
    drying = tape("setting_coats = 0")
    assert drying.person_hours == pytest.approx(alone_h)
    assert "batch" not in drying.how


def test_products_do_not_inherit_what_they_do_not_have():
    # 72 h is the alkyd primer's window (read, weak page); shellac dissolves into itself.
    windows = {
        id_: [x.name for x in materials.product(id_).latest]
        for id_ in ("solvent-primer", "solvent-primer-fast", "shellac-primer")
    }
    assert windows == {
        "solvent-primer": ["recoat window"],
        "solvent-primer-fast": ["recoat window"],
        "shellac-primer": [],
    }

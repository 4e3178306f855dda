"""Methods are whole recipes; what can't be built is refused with the reason.

The order of the work is common practice, no source, unless a line says otherwise.

Tests of planner/files/job/methods.py, planner/trade/parts.py,
planner/trade/recipes/__init__.py, planner/trade/recipes/backing/furred.py,
planner/trade/recipes/backing/inlaid.py, planner/trade/recipes/backing/plugged.py,
planner/trade/recipes/compound/coated.py, planner/trade/recipes/compound/drying.py,
planner/trade/recipes/compound/setting.py, planner/trade/recipes/compound/unbonded.py,
planner/trade/recipes/fill/anchored.py, planner/trade/recipes/fill/mortar.py,
planner/trade/recipes/paint/one_colour.py, planner/trade/recipes/paint/primed.py,
planner/trade/recipes/paint/primed_by_bay.py,
planner/trade/recipes/paint/primed_whole.py, planner/trade/recipes/paint/two_colours.py,
planner/trade/recipes/sanding/sanded.py, planner/trade/recipes/sanding/sanded_before.py,
planner/trade/work.py.
"""

import math
import sys
from dataclasses import replace
from types import ModuleType

import pytest

from planner.errors import JobFileError
from planner.files.job.jobfile import read_job
from planner.nouns.work import Pace, ReturnKind, Work
from planner.trade import recipes
from planner.trade.data import labour, materials
from planner.trade.data.materials import product
from planner.trade.parts import After, Part, follow, task_of
from planner.trade.takeoff import take_off
from planner.trade.work import work
from tests.support.finished import plan_of
from tests.support.values import STRAIGHT, changed, job_file

STEEL = changed(STRAIGHT, ("[stage]", '[stage]\nwall = "board on steel studs"'))
MASONRY = changed(STRAIGHT, ("[stage]", '[stage]\nwall = "masonry"'))
CORNER = changed(
    STRAIGHT,
    ('length = "5 m"', 'length = "5 m"\nmeets = "side"'),
    (
        '[[crew]]\nname = "Ana"',
        '[[stage.run]]\nname = "side"\nlength = "4 m"\n[[crew]]\nname = "Ana"',
    ),
)


def job_of(tmp_path, methods: str = "", text: str = STRAIGHT):
    text = changed(text, ("[stage]", f"[methods]\n{methods}\n[stage]"))
    return read_job(job_file(tmp_path, text))


def made(tmp_path, methods: str = "", text: str = STRAIGHT) -> Work:
    job = job_of(tmp_path, methods, text)
    ids = tuple(r.name for r in job.stage.runs)
    return work(job, take_off(job, ids=ids), materials.load())


def task(w: Work, id_: str):
    return next(t for t in w.tasks if t.id == id_)


def waits(w: Work, before: str, after: str) -> set[str | None]:
    return {
        x.wait.stage if x.wait else None
        for x in w.links
        if (x.before, x.after) == (before, after)
    }


def refused(tmp_path, methods: str, text: str = STRAIGHT) -> str:
    with pytest.raises(JobFileError) as caught:
        job_of(tmp_path, methods, text)
    return "\n".join(caught.value.lines())


# --------------------------------------------------------------- the registry


def test_every_row_of_the_registry_is_whole():
    for recipe in recipes.recipes():
        assert recipe.choice in recipes.CHOSEN
        assert recipe.title
        assert recipe.source
        assert set(recipe.rates) <= set(labour.rates())
        assert bool(recipe.needs) <= bool(recipe.walls)  # why goes with where


def test_a_recipe_is_added_with_one_file_and_one_row(tmp_path, monkeypatch):
    """A module and a row, and the job file, the faults and the work know it."""

    def recipe(site, leads, bays):
        tasks = [task_of(site, "back", bay=b, amount=1.0) for b in bays]
        return Part(
            tasks=tuple(tasks),
            links=tuple(x for t, b in zip(tasks, bays, strict=True)
                        for x in follow(t, *leads[b.id])),
            leads={b.id: (After(task=t.id, reason="it holds"),)
                   for t, b in zip(tasks, bays, strict=True)},
        )  # fmt: skip

    module = ModuleType("planner.trade.recipes.slatted")
    module.recipe = recipe  # type: ignore[attr-defined] # a file made here
    monkeypatch.setitem(sys.modules, module.__name__, module)
    row = replace(
        recipes.of("backing", "inlaid")[0], name="slatted", file="slatted", walls=()
    )
    rows = (*recipes.recipes(), row)
    monkeypatch.setattr(recipes, "recipes", lambda: rows)
    w = made(tmp_path, 'backing = "slatted"', MASONRY)
    assert {t.phase for t in w.tasks} >= {"back", "lines"}
    assert not {t.phase for t in w.tasks} & {"open", "fur", "plug"}
    assert waits(w, "mark.wall", "back.wall") == {None}
    assert waits(w, "back.wall", "lines.wall") == {None}
    assert "inlaid, furred, slatted" in refused(tmp_path, 'backing = "glued"')


# -------------------------------------------------------------------- the wall


def test_masonry_is_drilled_and_plugged_before_it_is_furred(tmp_path):
    w = made(tmp_path, 'backing = "furred"', MASONRY)
    plug = task(w, "plug.wall")
    # Board begins at 37.5 - 2 = 35.5 in (901.7 mm). Two level strips of 5 m: 9 spaces
    # of at most 600 mm, 10 plugs each; 14 uprights (5 m at 406.4 mm: 13 spaces) of
    # 2900 - 901.7 - 127 = 1871.3 mm: 4 spaces, 5 plugs each: 20 + 70.
    assert plug.quantity == "90 fixings"
    assert (plug.loud, plug.dusty) == (True, True)
    # 29 CFR 1926.1153 Table 1: hand-held drills with shroud and dust collector
    assert any("1926.1153 Table 1" in c for c in plug.cautions)
    assert waits(w, "plug.wall", "fur.wall") == {None}
    assert "plug" not in {t.phase for t in made(tmp_path, 'backing = "furred"').tasks}


@pytest.mark.parametrize(
    ("fixing", "phase", "first"),
    [("frame fixings", "frame-fix", "fur"), ("cartridge nails", "shoot", "fur")],
)
def test_strips_on_masonry_are_held_as_chosen(tmp_path, fixing, phase, first):
    chosen = f'backing = "furred"\nmasonry_fixing = "{fixing}"'
    w = made(tmp_path, chosen, MASONRY)
    assert task(w, f"{phase}.wall").quantity == "90 fixings"
    assert waits(w, f"{first}.wall", f"{phase}.wall") == {None}
    assert waits(w, f"{phase}.wall", "board.wall") == {None}
    assert "plug" not in {t.phase for t in w.tasks}


def test_a_skim_coat_covers_the_whole_face_and_is_sanded_whole(tmp_path):
    # 5 m of cove 1512.5 mm across, and (2.9 - 0.9525) m of wall above it; the pieces at
    # its two free ends lie behind an arc of 914.4 mm
    whole_m2 = 5 * (0.9144 * math.pi / 2 + 2 * 0.0381 + 2.9 - 0.9525)
    whole_m2 += 2 * 0.9144**2 * (1 - math.pi / 4)
    w = made(tmp_path, "skim_coats = 1")
    skim = task(w, "skim-coat-1.wall")
    assert skim.wet_m2 == pytest.approx(whole_m2)
    assert product("skim").thickness_mm == pytest.approx(25.4 / 32)
    assert skim.product == "skim"
    assert waits(w, "topping-coat-1.wall", "skim-coat-1.wall") == {"dry"}
    assert waits(w, "skim-coat-1.wall", "rub.wall") == {"dry"}
    plain = task(made(tmp_path), "rub.wall").person_hours
    assert task(w, "rub.wall").person_hours > plain


def test_steel_studs_bring_their_own_screws_and_cautions(tmp_path):
    steel = task(made(tmp_path, text=STEEL), "open.wall")
    wood = task(made(tmp_path), "open.wall")
    assert steel.person_hours == wood.person_hours
    assert set(steel.bring) - set(wood.bring) == {
        "self-drilling screws for steel studs"
    }
    assert any("steel studs" in c for c in set(steel.cautions) - set(wood.cautions))


# ---------------------------------------------------------------- the compound


def test_without_setting_compound_the_tape_lies_in_two_drying_coats(tmp_path):
    w = made(tmp_path, "setting_coats = 0")
    coats = [t for t in w.tasks if "coat" in t.phase]
    assert [t.id for t in coats] == [
        "drying-coat-1.wall", "drying-coat-2.wall", "topping-coat-1.wall",
    ]  # fmt: skip
    # GA-236-2016 as reported by weatherbuild.co: every drying-type coat thoroughly
    # dry before the next
    assert waits(w, "drying-coat-1.wall", "drying-coat-2.wall") == {"dry"}
    assert waits(w, "drying-coat-2.wall", "topping-coat-1.wall") == {"dry"}
    for coat in coats:
        assert waits(w, coat.id, "rub.wall") == {"dry"}


def test_drying_coats_may_lie_between_setting_compound_and_topping(tmp_path):
    w = made(tmp_path, "setting_coats = 1\ndrying_coats = 1")
    assert waits(w, "setting-coat-1.wall", "drying-coat-1.wall") == {"set"}
    assert waits(w, "drying-coat-1.wall", "topping-coat-1.wall") == {"dry"}


# ---------------------------------------------------------- primer bay by bay


def test_primer_by_bay_ends_at_the_corner_lines_and_waits_for_its_neighbours(tmp_path):
    w = made(tmp_path, 'primer_in = "bays"', CORNER)
    primed = [t for t in w.tasks if t.phase == "prime"]
    assert {t.bays for t in primed} == {("wall",), ("corner",), ("side",)}
    assert all(t.pace is Pace.ONE_GO for t in primed)
    before = {x.before for x in w.links if x.after == "prime-2.wall"}
    assert before == {"prime-1.wall", "prime-1.corner"}
    before = {x.before for x in w.links if x.after == "prime-2.corner"}
    assert before == {"prime-1.wall", "prime-1.corner", "prime-1.side"}
    for bay in ("wall", "corner", "side"):
        assert waits(w, f"prime-2.{bay}", "shadow") == {"recoat"}
        assert waits(w, f"prime-2.{bay}", "colour-1") == {"recoat"}
    whole = made(tmp_path, "", CORNER)
    # the same area, laid in more parts: only setting up and cleaning up is more
    area = sum(t.wet_m2 for t in primed if "-1" in t.id)
    assert area == pytest.approx(task(whole, "prime-1").wet_m2)


# ------------------------------------------------------------- a second colour


def test_a_second_colour_is_masked_and_both_returns_wait_for_it(tmp_path):
    w = made(tmp_path, 'second_colour = { bays = ["apron"], coats = 2 }')
    # The apron is 5 m long; its back edge, the front of the coves, is masked.
    assert task(w, "mask").quantity == "5.0 m (16 ft) of edge"
    assert task(w, "second-colour-1").bays == ("apron",)
    assert task(w, "second-colour-1").pace is Pace.ONE_GO
    assert task(w, "second-colour-1").wet_m2 == pytest.approx(5.0 * 2.4384)
    assert waits(w, "colour-2", "mask") == {"light foot traffic"}
    assert waits(w, "colour-2", "second-colour-1") == {"recoat"}
    assert waits(w, "mask", "second-colour-1") == {None}
    assert waits(w, "second-colour-1", "second-colour-2") == {"recoat"}
    assert waits(w, "second-colour-2", "handover") == {"recoat"}
    for name, returning in zip(
        ("light foot traffic", "full service"), w.returns, strict=True
    ):
        said = {(t, x.stage if x else None) for t, x in returning.after}
        assert {("second-colour-2", name), ("colour-2", name)} <= said


@pytest.mark.slow
def test_the_second_colour_goes_on_on_a_later_day(tmp_path):
    text = changed(
        STRAIGHT, ("[stage]", '[methods]\nsecond_colour = {bays = ["apron"]}\n[stage]')
    )
    plan = plan_of(job_file(tmp_path, text), 0.3)
    first, second = plan.task("colour-2"), plan.task("second-colour-1")
    assert first.end.date() < plan.task("mask").start.date()
    assert second.end < plan.task("second-colour-2").start
    last = plan.task("second-colour-2").id
    wait = next(w for w in plan.waits if w.task == last
                and w.stage == "full service")  # fmt: skip
    assert plan.stage.returning(ReturnKind.FULL_SERVICE).when >= wait.ready


def test_a_second_colour_on_a_run_ends_at_its_ends_and_front(tmp_path):
    w = made(tmp_path, 'second_colour = { bays = ["side"] }', CORNER)
    side = next(b for b in w.bays if b == "side")
    assert task(w, "second-colour-1").bays == (side,)
    # its front, 4 m less the corner piece's leg of 1.0541 m, and twice 2.9 m up
    assert task(w, "mask").quantity == "8.7 m (29 ft) of edge"


# ------------------------------------------------------------ what is refused


@pytest.mark.parametrize(
    ("text", "methods", "said"),
    [
        (MASONRY, 'backing = "inlaid"', "board wall on studs; the wall is masonry"),
        (MASONRY, 'backing = "inlaid"', 'choose "furred"'),
        (STRAIGHT, 'backing = "inlayed"', 'not one of inlaid, furred; did you mean "in'),
        (STRAIGHT, 'fill = "sand"', "not one of mortar, foam"),
        (STRAIGHT, 'sanding = "yard"', "not one of workshop, stage"),
        (STRAIGHT, 'primer_in = "bay"', 'did you mean "bays"'),
        (STRAIGHT, "setting_coats = 0\ndrying_coats = 0\ntopping_coats = 0", "all 0"),
        (STRAIGHT, "setting_coats = 0\ndrying_coats = 0", "topping doesn't hold tape"),
        (STRAIGHT, 'drying = "setting-90"', "not a drying compound"),
        (STRAIGHT, 'primer_in = "bays"\nprimer = "solvent-primer"', "in the room with its fumes"),
        (STRAIGHT, 'second_colour = {bays = ["apron"], coats = 0}', "second_colour.coats"),
        (STRAIGHT, "second_colour = {coats = 1}", "second_colour.bays: is missing"),
        (STRAIGHT, 'second_colour = {bays = ["wal"]}', 'did you mean "wall"'),
        (STRAIGHT, 'second_colour = {bays = ["corner"]}', "neither the apron nor a run"),
        (STRAIGHT, 'second_colour = {bays = ["wall", "apron"]}', "all of the first"),
        (CORNER, 'second_colour = {bays = ["side", "Side"]}', "twice"),
        (STRAIGHT, 'second_colour = {bays = ["apron"], product = "foam"}', "not a colour"),
        (STRAIGHT, 'colour_on_apron = false\nsecond_colour = {bays = ["apron"]}',
         "the apron takes no colour"),
    ],
)  # fmt: skip
def test_what_can_t_be_built_is_refused_with_the_reason(tmp_path, text, methods, said):
    assert said in refused(tmp_path, methods, text)


def test_all_that_is_wrong_with_the_methods_is_said_at_once(tmp_path):
    words = refused(
        tmp_path,
        'backing = "inlaid"\nfill = "sand"\nprimer = "magic"\n'
        "setting_coats = 0\ndrying_coats = 0",
        MASONRY,
    )
    assert "4 faults" in words


def test_an_apron_without_depth_takes_no_second_colour(tmp_path):
    flat = changed(STRAIGHT, ("[stage]", '[stage]\napron = "0 m"'))
    words = refused(tmp_path, 'second_colour = {bays = ["apron"]}', flat)
    assert "the apron has no depth" in words

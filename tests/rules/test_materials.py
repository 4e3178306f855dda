"""Products are data: every number has a source, a law that takes it, a unit.

Tests of planner/air/laws.py, planner/air/wet_work.py, planner/nouns/product.py,
planner/trade/data/materials.py.
"""

import tomllib
from importlib.resources import files

import numpy as np
import pytest

from planner.air.calculator import (
    hours_table,
    in_constant_air,
    in_room_air,
    second_opinion,
)
from planner.air.laws import LAWS
from planner.air.wet_work import coat_water_kg, drying_stage
from planner.errors import OutOfRangeError, PlannerError
from planner.nouns.product import Air, Hardening, Latest
from planner.trade.data import materials
from planner.trade.data.materials import from_sheet, load, merged, product

PRODUCTS = load()
UNITS = ("_h", "_min", "_c", "_k", "_pct", "_mm", "_frac", "_per_l")
TAGS = (
    "read",
    "read, weak page",
    "from memory",
    "computed",
    "assumption",
    "common practice",
)


def hours(said):
    """Return hours that are within the series."""
    assert said is not None
    return said


def stage(p, name):
    return next(s for s in p.stages if s.stage == name)


@pytest.mark.parametrize("id_", PRODUCTS)
def test_every_number_has_a_law_a_unit_a_source_a_tag_and_a_day(id_):
    held = PRODUCTS[id_]
    parts: list[Hardening | Latest] = [*held.stages, *held.latest]
    for part in parts:
        law = LAWS[part.law]
        numbers = dict(part.numbers)
        assert all(n.endswith(UNITS) for n in numbers), numbers
        numbers.pop("layer_mm", None)
        if law.airs:
            numbers["changes_per_h"] = 0.3
        assert np.isfinite(
            law.hours(np.array([20.0]), np.array([50.0]), **numbers)
        ).all()
    sources = [part.source for part in parts]
    sources += [s for _, s in held.sources]
    if held.limits.min_c is not None:
        assert held.limits.source is not None
        sources.append(held.limits.source)
    for source in sources:
        assert source.text
        assert source.tag in TAGS
        assert source.dated
    given = [
        n for n in ("thickness_mm", "coverage_m2_per_l") if getattr(held, n) is not None
    ]
    assert set(given) <= {name for name, _ in held.sources}


def test_every_source_is_used():
    text = (
        files("planner.trade.data")
        .joinpath("materials.toml")
        .read_text(encoding="utf-8")
    )
    raw = tomllib.loads(text)
    body = text[text.index("\n[product.") :]
    unused = [name for name in raw["source"] if f'source = "{name}"' not in body]
    assert unused == []


def test_what_the_methods_need_is_there():
    kinds = {
        "setting-90": ("setting compound", {"set", "dry"}),
        "setting-45": ("setting compound", {"set", "dry"}),
        "setting-210": ("setting compound", {"set", "dry"}),
        "topping": ("drying compound", {"dry"}),
        "all-purpose": ("drying compound", {"dry"}),
        "water-primer": ("primer", {"recoat"}),
        "solvent-primer": ("primer", {"recoat", "free of fumes"}),
        "flat-colour": ("colour", {"recoat", "light foot traffic", "full service"}),
        "adhesive": ("adhesive", {"hold", "full"}),
        "dry-mortar": ("mortar", {"crust", "load"}),
        "foam": ("foam", {"trim", "full"}),
        "bonding-agent": ("bonding agent", {"recoat"}),
        "damp-wipe": ("water", {"recoat"}),
    }
    for id_, (kind, stages) in kinds.items():
        assert PRODUCTS[id_].kind == kind
        assert {s.stage for s in PRODUCTS[id_].stages} == stages


def test_a_solvent_primer_gives_off_fumes_and_has_a_recoat_window():
    primer = product("solvent-primer")
    assert primer.fumes
    assert [w.name for w in primer.latest] == ["recoat window"]
    assert not product("water-primer").fumes


# ------------------------------------------------------------ users' data sheets


def sheet(like, *, recoat_h, at_c=20.0, at_rh_pct=60.0):
    return from_sheet(
        product(like),
        id="mine",
        title="Mine",
        recoat_h=recoat_h,
        at_c=at_c,
        at_rh_pct=at_rh_pct,
        sheet="data sheet of 2026",
    )


@pytest.mark.parametrize(
    ("like", "name"),
    [("water-primer", "recoat"), ("flat-colour", "recoat"), ("topping", "dry")],
)
def test_a_sheets_hours_hold_in_the_sheets_own_air(like, name):
    mine = sheet(like, recoat_h=7.0)
    at = in_constant_air(mine, temp_c=20.0, rh_pct=60.0)
    said = next(s for s in at.stages if s.stage == name)
    assert said.likely_h == pytest.approx(7.0)
    assert said.source.tag == "user"
    damper = in_constant_air(mine, temp_c=20.0, rh_pct=80.0)
    assert hours(next(s for s in damper.stages if s.stage == name).likely_h) > 10.0


def test_a_sheet_for_solvent_primer_gives_its_temperature():
    mine = sheet("solvent-primer", recoat_h=12.0, at_c=20.0)
    at = in_constant_air(mine, temp_c=10.0, rh_pct=50.0)
    assert at.stages[0].likely_h == pytest.approx(24.0)


def test_a_sheet_for_setting_compound_gives_its_setting_time():
    mine = sheet("setting-90", recoat_h=2.0, at_c=20.0)
    at = in_constant_air(mine, temp_c=20.0, rh_pct=50.0)
    assert {s.stage: round(hours(s.likely_h), 3) for s in at.stages}["set"] == 2.0


def test_later_stages_and_limits_are_those_of_the_product_it_is_like():
    mine = sheet("flat-colour", recoat_h=3.0)
    later = stage(mine, "full service")
    assert dict(later.numbers)["hours_h"] == 72.0
    # what the sheet takes to recoat is the first part of it: 72 h from the coat all told
    whole_h = next(
        s.likely_h
        for s in in_constant_air(mine, temp_c=25.0, rh_pct=50.0).stages
        if s.stage == "full service"
    )
    assert whole_h == pytest.approx(72.0)
    assert mine.limits == product("flat-colour").limits
    assert mine.id == "mine"


def test_without_a_recoat_time_the_product_is_only_renamed():
    mine = sheet("water-primer", recoat_h=None)
    assert mine.stages == product("water-primer").stages
    assert ("sheet", "data sheet of 2026") in [(n, s.text) for n, s in mine.sources]


@pytest.mark.parametrize(
    ("like", "given", "words"),
    [
        ("water-primer", {"recoat_h": 0.0}, "more than none"),
        ("water-primer", {"recoat_h": 2.0, "at_c": 45.0}, "at is 45"),
        ("water-primer", {"recoat_h": 2.0, "at_rh_pct": 99.0}, "humidity is 99"),
        ("adhesive", {"recoat_h": 2.0}, "leave recoat out"),
        ("dry-mortar", {"recoat_h": 2.0}, "leave recoat out"),
    ],
)
def test_a_sheet_that_cannot_be_is_refused_in_words(like, given, words):
    with pytest.raises(ValueError, match=words):
        sheet(like, **given)


def test_the_users_own_product_stands_in_for_one_of_the_same_id():
    mine = from_sheet(
        product("water-primer"), id="water-primer", title="Mine", recoat_h=9.0,
        at_c=20.0, at_rh_pct=50.0, sheet="sheet",
    )  # fmt: skip
    assert merged([mine])["water-primer"] is mine
    assert len(merged([mine])) == len(load())


def test_an_unknown_product_is_answered_with_the_nearest():
    with pytest.raises(PlannerError) as missed:
        product("water-primmer")
    assert missed.value.hint == 'did you mean "water-primer"?'


# ------------------------------------------------------------------ calculator


def test_the_calculator_gives_likely_cautious_limits_law_and_source():
    answer = in_constant_air(product("topping"), temp_c=(70 - 32) / 1.8, rh_pct=50.0)
    (dry,) = answer.stages
    assert dry.likely_h == pytest.approx(17.0)
    assert hours(dry.cautious_h) > hours(dry.likely_h)
    assert "from memory" in dry.source.tag
    assert len(answer.kept) == 3
    assert answer.broken == ()
    assert answer.warnings == ()


def test_the_calculator_tells_a_broken_limit_and_too_thick_a_coat():
    answer = in_constant_air(
        product("topping"), temp_c=8.0, rh_pct=50.0, thickness_mm=4.0
    )
    assert answer.broken == ("room and surface at 50 °F (10 °C) or more",)
    assert "lay it in two" in answer.warnings[0]


def test_the_calculator_in_a_rooms_air_is_the_sum_over_its_hours():
    warm_c = (70 - 32) / 1.8
    humid = np.concatenate((np.full(8, 50.0), np.full(60, 90.0)))
    air = Air(tick_minutes=60, air_c=np.full(68, warm_c), humidity_pct=humid)
    answer = in_room_air(product("topping"), air, tick=0)
    assert answer.stages[0].likely_h == 47.0  # 8/17, and 9/17 of 72 h, rounded up
    late = in_room_air(product("topping"), air, tick=60)
    assert late.stages[0].likely_h is None


def test_a_sheet_far_from_what_evaporation_gives_is_warned_of():
    # The table gives 23.0 h at 20 °C and 62 %.
    warned = second_opinion(stage(sheet("topping", recoat_h=5.0), "dry"), 20.0, 60.0)
    assert "under" in warned
    assert "data sheet of 2026" in warned
    assert second_opinion(stage(product("topping"), "dry"), 20.0, 60.0) == ""
    assert second_opinion(stage(product("setting-90"), "dry"), 20.0, 60.0) == ""
    assert second_opinion(stage(product("water-primer"), "recoat"), 20.0, 60.0) == ""


def test_the_table_for_the_wall_is_empty_where_nothing_is_known():
    dry = stage(product("topping"), "dry")
    grid = hours_table(dry, temps_c=(-5.0, 0.0, 20.0), rhs_pct=(50.0, 99.0))
    assert np.isnan(grid[:, 0]).all()
    assert np.isnan(grid[1]).all()
    assert grid[0, 1] == pytest.approx(72.0)
    careful = hours_table(dry, temps_c=(20.0,), rhs_pct=(50.0,), cautious=True)
    assert careful[0, 0] > grid[0, 2]


def test_the_calculator_refuses_air_that_no_source_covers():
    with pytest.raises(OutOfRangeError):
        in_constant_air(product("topping"), temp_c=20.0, rh_pct=99.5)


def test_water_of_a_coat_by_thickness_or_by_coverage():
    # 1/16 in on 10 m² is 15.875 l, a third of it water (0.325)
    assert coat_water_kg(product("topping"), 10.0) == pytest.approx(15.875 * 0.325)
    # 36.8 m² at 7.36 m²/l is 5 l, 0.6 of it water
    assert coat_water_kg(product("flat-colour"), 36.8) == pytest.approx(3.0)
    assert coat_water_kg(product("solvent-primer"), 36.8) == 0.0
    for id_, name in (("setting-90", "dry"), ("flat-colour", "recoat")):
        found = drying_stage(product(id_))
        assert found is not None
        assert found.stage == name
    assert drying_stage(product("foam")) is None


def test_the_data_is_read_once():
    assert materials.load() is materials.load()


def test_a_product_does_not_inherit_what_it_does_not_have():
    # the 72 h to cover alkyd primer come from a page on alkyds
    known = materials.load()
    assert [x.name for x in known["solvent-primer"].latest] == ["recoat window"]
    assert [x.name for x in known["solvent-primer-fast"].latest] == ["recoat window"]
    assert known["shellac-primer"].latest == ()

"""Alternatives side by side: what is gained, what a day costs, in words and JSON.

Tests of planner/nouns/choices/comparison.py, planner/report/words/choices/compare_text.py,
planner/files/tables/compare_json.py.
"""

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from planner.files.tables.compare_json import compare_json
from planner.nouns.choices.comparison import (
    Alternative,
    BackBy,
    Comparison,
    Figures,
    Gain,
    HowFound,
    gain,
)
from planner.nouns.work import ReturnKind
from planner.report.words.choices.compare_text import (
    compare_words,
    gained_words,
    levers_words,
    progress_row,
)

ZONE = ZoneInfo("America/Halifax")  # four hours behind UTC in winter
START = datetime(2027, 2, 12, 13, 30, tzinfo=UTC)


def days(count: float) -> timedelta:
    return timedelta(days=count)


def figures(
    *, planned: float = 10, kept: float | None = 20, stage: float | None = 1000
) -> Figures:
    """A plan that returns so many days after its start, and costs so much."""
    return Figures(
        closure=(START, START + days(planned)),
        returns=tuple(
            BackBy(
                kind=kind,
                planned=START + days(planned - before),
                kept=None if kept is None else START + days(kept - before),
            )
            for kind, before in (
                (ReturnKind.LIGHT_FOOT_TRAFFIC, 2),
                (ReturnKind.FULL_SERVICE, 0),
            )
        ),
        stage_cost=stage,
        labour_cost=None if stage is None else 200.0,
        binds=("Colour coat 2 cures 115 h", "waiting for people 3 h"),
        minutes=(("drying", 600),),
        proven=True,
    )


def way(title: str, made: Figures | None, why: str = "") -> Alternative:
    return Alternative(title=title, changes=(title,), figures=made, why=why)


AS_IT_IS = Alternative(title="the job as it is", changes=(), figures=figures())


def found(*alternatives: Alternative, base: Alternative = AS_IT_IS) -> Comparison:
    return Comparison(
        job="a wall",
        zone=ZONE.key,
        currency="CAD",
        futures=1000,
        seed=1,
        sure_percent=80,
        as_it_is=base,
        alternatives=alternatives,
    )


# ------------------------------------------------------------------------- gains


def test_days_are_gained_on_the_date_kept_and_money_is_told_for_each():
    """Two days sooner kept, one sooner planned, 300 dearer: 150 a day."""
    won = gain(AS_IT_IS, way("a", figures(planned=9, kept=18, stage=1300)))
    assert won == Gain(days=2.0, planned_days=1.0, cost=300.0)
    assert won.per_day == 150.0


@pytest.mark.parametrize("kept", [20, 23])
def test_where_no_day_is_gained_no_day_has_a_price(kept):
    won = gain(AS_IT_IS, way("a", figures(kept=kept, stage=1300)))
    assert won is not None
    assert won.days == 20 - kept
    assert won.per_day is None


def test_without_rates_no_money_is_told():
    base = replace(AS_IT_IS, figures=figures(stage=None))
    won = gain(base, way("a", figures(kept=18, stage=None)))
    assert won == Gain(days=2.0, planned_days=0.0, cost=None)
    assert won.per_day is None


def test_without_a_plan_or_a_date_kept_no_gain_is_told():
    unknown = way("a", figures(kept=None))
    assert gain(AS_IT_IS, way("a", None, "no plan")) is None
    assert gain(AS_IT_IS, unknown) is None
    assert gain(unknown, AS_IT_IS) is None


def test_ranked_by_days_then_by_cost_then_by_title_whatever_the_order():
    one, two = way("one", figures(kept=18)), way("two", figures(kept=19))
    dear, same = way("dear", figures(kept=18, stage=2000)), way("0ne", figures(kept=18))
    none = way("none", None, "no plan")
    right = (same, one, dear, two, none)
    for order in (right, right[::-1], (two, none, one, same, dear)):
        assert found(*order).ranked() == right


def test_a_reason_goes_with_what_has_no_plan_and_with_nothing_else():
    with pytest.raises(ValueError, match="why"):
        way("a", None)
    with pytest.raises(ValueError, match="why"):
        way("a", figures(), "no plan")


# ------------------------------------------------------------------------- words


def test_each_alternative_is_told_with_its_dates_money_and_what_binds():
    words = compare_words(
        found(
            way("primer_coats = 1", figures(planned=9, kept=18.5, stage=1300)),
            way("without Bo", None, "nobody may lift"),
        )
    )
    assert (
        """  1  primer_coats = 1
    Closed from        Fri 12 Feb 2027, 09:30
           to          Sun 21 Feb 2027, 09:30  (9 days)
    Light foot traffic Fri 19 Feb 2027, 09:30, kept by Sun 28 Feb 2027
    Full service       Sun 21 Feb 2027, 09:30, kept by Tue 2 Mar 2027
    Costs              stage 1,300 + labour 200 CAD
    Binds              Colour coat 2 cures 115 h; waiting for people 3 h
    Against that       gains 1 day 12 h on the date kept, costs 300 CAD more,
                       200 CAD for each day gained

  2  without Bo
    No plan            nobody may lift
"""
        in words
    )
    assert (
        """
                                           days gained   costs more a day gained
  primer_coats = 1                                +1.5         +300          200
  without Bo                                   no plan
"""
        in words
    )
    assert max(map(len, words.splitlines())) <= 80


def test_what_saves_is_said_to_save_and_without_rates_no_money_is_shown():
    words = compare_words(found(way("a", figures(kept=18, stage=700))))
    assert "costs 300 CAD less" in words
    assert "+2.0         -300        saves" in words
    base = replace(AS_IT_IS, figures=figures(stage=None))
    bare = compare_words(found(way("a", figures(kept=18, stage=None)), base=base))
    assert "CAD" not in bare
    assert "costs more" not in bare
    assert "a day gained" not in bare


def test_a_date_that_isnt_known_is_said_not_to_be():
    words = compare_words(found(way("a", figures(kept=None))))
    assert "Mon 22 Feb 2027, 09:30, kept later than looked at" in words
    assert "not known" in words
    assert "Against that" not in words


def test_what_was_not_planned_any_more_is_named():
    words = compare_words(replace(found(), unfinished=("heat at night", "foam")))
    assert "Stopped before: heat at night; foam" in words


@pytest.mark.parametrize(
    ("days", "words"),
    [
        (1.25, "gains 1 day 6 h"),
        (-2.0, "loses 2 days"),
        (0.0, "gains nothing"),
        (0.01, "gains nothing"),  # a quarter of an hour is 1/96 of a day
        (0.05, "gains 1 h"),
    ],
)
def test_a_gain_in_words(days, words):
    assert gained_words(Gain(days=days, planned_days=0.0, cost=None)) == words


def test_progress_tells_a_row_as_soon_as_it_is_known():
    one = way("a", figures(kept=18))
    back = "a: back Mon 22 Feb 2027, 09:30, kept by Tue 2 Mar 2027"
    assert progress_row(one, None, ZONE) == back
    assert progress_row(one, gain(AS_IT_IS, one), ZONE) == f"{back}, gains 2 days"
    none = way("b", None, "nobody may lift")
    assert progress_row(none, None, ZONE) == "b: no plan: nobody may lift"


# -------------------------------------------------------------------------- JSON


def test_json_holds_what_the_words_say_in_utc():
    one = way("a", figures(planned=9, kept=18, stage=1300))
    text = compare_json(found(one, way("b", None, "no plan")))
    whole = json.loads(text)
    assert whole["as_it_is"]["against_as_it_is"] is None
    first, second = whole["alternatives"]
    assert first["plan"]["closed_to"] == "2027-02-21T13:30:00Z"
    assert first["plan"]["returns"][1] == {
        "kind": "full service",
        "planned": "2027-02-21T13:30:00Z",
        "kept": "2027-03-02T13:30:00Z",
    }
    assert first["plan"]["stage_cost"] == 1300
    assert first["against_as_it_is"] == {
        "days_gained": 2.0,
        "planned_days_gained": 1.0,
        "costs_more": 300.0,
        "cost_per_day_gained": 150.0,
    }
    assert (second["plan"], second["no_plan"]) == (None, "no plan")


# ------------------------------------------------------------------------- levers


def lever(title: str, kept: float, *parts: str, stage: float = 1000) -> Alternative:
    return Alternative(
        title=title,
        changes=(title,),
        figures=figures(kept=kept, stage=stage),
        say=f"{title}=1",
        parts=parts,
    )


def test_levers_are_ranked_and_those_in_vain_say_what_binds():
    words = levers_words(
        found(
            lever("heat", 20),
            lever("Ida's help", 17, stage=1300),
            lever("fans", 22),
            lever("hoist", 18),
            way("no one", None, "nobody may lift"),
        )
    )
    assert (
        """
  What gains days on the date kept
                                           days gained   costs more a day gained
  Ida's help                                      +3.0         +300          100
  hoist                                           +2.0            0      nothing

  What gains less than two hours or loses days, and what binds then
    heat: gains nothing; Colour coat 2 cures 115 h; waiting for people 3 h
    fans: loses 2 days; Colour coat 2 cures 115 h; waiting for people 3 h
    no one: no plan: nobody may lift
"""
        in words
    )
    assert "--change 'Ida'\"'\"'s help=1'\n" in words
    assert "--change hoist=1\n" in words
    assert "--change heat" not in words
    assert "assumed, not asked for; local rules" in words
    assert max(map(len, words.splitlines())) <= 80


def test_pairs_are_told_where_they_win_more_than_both_alone():
    alone = (lever("heat", 19), lever("fans", 22), lever("hoist", 18))
    more = lever("heat, and fans", 18.5, "heat", "fans")
    sum_ = lever("heat, and hoist", 17, "heat", "hoist")
    words = levers_words(found(*alone, more, sum_))
    assert (
        """  What gains more together than both alone
                                           days gained   costs more a day gained
  heat, and fans                                  +1.5            0      nothing
"""
        in words
    )
    assert "heat, and hoist" not in words
    none = levers_words(found(*alone, sum_))
    assert "None of 1 pairs that were tried gains more than both alone" in none


def test_how_a_plan_was_found_is_told_with_it():
    stands = replace(lever("fans", 19), found=HowFound.STANDS)
    late = replace(lever("heat", 21), found=HowFound.STANDS)
    why = "whatever the plan, the stage isn't back before Tue 2 Mar 2027, 09:30"
    out = replace(way("lead paint", None, why), found=HowFound.RULED_OUT)
    words = levers_words(found(stands, late, out))
    assert "  fans, with the plan as it is                    +1.0" in words
    assert "heat: loses 1 day, with the plan as it is; Colour" in words
    flat = " ".join(words.split())
    assert f"lead paint: gains nothing, shown without a search: {why}" in flat
    assert "no plan" not in words
    assert progress_row(out, None, ZONE) == f"lead paint: gains nothing: {why}"
    block = " ".join(compare_words(found(stands)).split())
    assert "Plan that of the job as it is, which holds and keeps a better date" in block


def test_nothing_is_offered_to_be_copied_where_nothing_gains():
    words = levers_words(found(lever("heat", 21)))
    assert "--change" not in words
    assert "To have one of these" not in words
    assert "What gains days" not in words

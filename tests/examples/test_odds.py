"""The odds of the straight example: from the plan that stands to words and picture.

Tests of planner/commands/futures.py, planner/files/tables/odds_json.py,
planner/nouns/odds.py, planner/odds/script.py, planner/odds/tally.py,
planner/report/charts/odds_picture.py, planner/report/words/sure/odds_text.py,
planner/trade/data/odds.py, planner/usecases/living/placed.py,
planner/usecases/odds.py.
"""

import json
import re
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from planner.nouns.odds import Factor, Holder, Odds, Spread, Threat
from planner.nouns.work import ReturnKind
from planner.odds.script import script_of
from planner.odds.tally import odds_of
from planner.planning.posing import problem_of
from planner.trade.data.odds import assumed, spread
from planner.usecases.living.placed import placements_of
from planner.usecases.odds import PlanOdds, odds_of_plan
from planner.usecases.read import read_inputs
from planner.usecases.standing import standing_plan
from tests.support.command import covetime
from tests.support.examples import Planned, job_of
from tests.support.odds import STILL, wider_by
from tests.support.places import ROOT

JOB = ROOT / "examples/straight/job.toml"
FEW = 1000


def _odds(planned: Mapping[str, Planned], how: Spread, *, seed: int = 1) -> Odds:
    inputs = read_inputs(JOB)
    plan = standing_plan(inputs, planned["straight"].folder)
    assert plan is not None
    problem = problem_of(inputs, weeks=13)
    return odds_of(
        inputs,
        problem,
        placements_of(plan),
        how,
        planned={r.kind: r.when for r in plan.stage.returns},
        seed=seed,
        futures=FEW,
        step=lambda words: None,
    )


def test_once_it_is_over_causes_are_not_told_apart(planned) -> None:
    inputs = read_inputs(JOB)
    plan = standing_plan(inputs, planned["straight"].folder)
    assert plan is not None
    asked: list[bool] = []
    tasks = len(plan.tasks)

    def over() -> bool:
        asked.append(True)
        return len(asked) > tasks + 3  # all is played; two causes are told apart

    odds = odds_of(
        inputs,
        problem_of(inputs, weeks=13),
        placements_of(plan),
        spread(inputs.job),
        planned={r.kind: r.when for r in plan.stage.returns},
        seed=1,
        futures=100,
        shares=False,
        over=over,
        step=lambda words: None,
    )
    assert odds.threats == ()
    assert odds.futures == 100
    assert len(asked) == tasks + 4


def _by(odds: Odds, percent: int, kind: ReturnKind = ReturnKind.FULL_SERVICE) -> float:
    one = next(r for r in odds.returns if r.kind is kind)
    when = next(c.when for c in one.by if c.percent == percent)
    assert when is not None
    return when.timestamp()


@pytest.fixture(scope="module")
def told(planned: Mapping[str, Planned]) -> PlanOdds:
    """The odds as the use case tells them."""
    inputs = read_inputs(JOB)
    plan = standing_plan(inputs, planned["straight"].folder)
    assert plan is not None
    return odds_of_plan(inputs, plan, futures=FEW, seed=1, step=lambda words: None)


def test_where_nothing_differs_the_plan_is_kept(planned: Mapping[str, Planned]) -> None:
    """Coats dry without the margin that the plan adds, so nothing comes later."""
    odds = _odds(planned, replace(STILL, touch_ups=False))
    for one in odds.returns:
        assert one.kept_frac == 1.0
        assert one.late_days == 0.0
        assert _by(odds, 50, one.kind) == _by(odds, 95, one.kind)
        assert _by(odds, 95, one.kind) <= one.planned.timestamp()
    assert all(c.share_frac == 0.0 for c in odds.threats)
    assert odds.collisions == ()


@pytest.mark.slow
def test_more_spread_promises_no_earlier_date(planned: Mapping[str, Planned]) -> None:
    """Law: with every spread half as wide, as it is, and twice as wide."""
    usual = spread(read_inputs(JOB).job)
    wider = [wider_by(usual, times) for times in (0.5, 1.0, 2.0)]
    dates = [_by(_odds(planned, one), 95) for one in wider]
    assert dates == sorted(dates)
    assert dates[0] < dates[-1]


@pytest.mark.slow
def test_a_task_begins_early_only_where_all_of_its_own_team_are_called(
    planned: Mapping[str, Planned],
) -> None:
    """And others than its own team not before it is due."""
    inputs = read_inputs(JOB)
    plan = standing_plan(inputs, planned["straight"].folder)
    assert plan is not None
    problem = problem_of(inputs, weeks=13)
    placed = placements_of(plan)
    script = script_of(problem, placed, (problem.air,))
    shifts = {p.id: p.shifts for p in problem.instance.people}

    def called(who: str, tick: int) -> bool:
        """Tell whether the plan has somebody work in the shift that a tick lies in."""
        shift = next((s for s in shifts[who] if s[0] <= tick < s[1]), None)
        return shift is not None and any(
            who in p.team and p.worked.clip(*shift) for p in placed
        )

    early = 0
    for step in script.steps:
        before = np.arange(step.planned)
        for number, team in enumerate(step.teams):
            starts = np.unique(team.time.tick(team.time.begin(before)))
            sooner = [int(s) for s in starts if s < step.planned]
            names = [script.people[who] for who in team.people]
            if number:
                assert sooner == []
            assert all(called(who, s) for who in names for s in sooner)
            early += len(sooner)
        team_open = [t for t in before.tolist() if t in set(step.teams[0].time.days.at)]
        names = [script.people[who] for who in step.teams[0].people]
        lone = [t for t in team_open if not all(called(who, t) for who in names)]
        assert not set(lone) & set(
            step.teams[0].time.tick(step.teams[0].time.begin(before)).tolist()
        )
    assert early > 0


@pytest.mark.slow
def test_the_same_futures_come_again(told: PlanOdds) -> None:
    """The use case gives the same record for the same seed."""
    inputs = read_inputs(JOB)
    again = odds_of_plan(
        inputs, told.plan, futures=FEW, seed=1, step=lambda words: None
    )
    assert again == told


def test_returns_causes_and_holders_make_sense(told: PlanOdds) -> None:
    """Dates rise with their chance; shares lie in [0, 1]; something always holds."""
    for one in told.odds.returns:
        dates = [c.when for c in one.by if c.when is not None]
        assert dates == sorted(dates)
    assert sum(c.share_frac or 0.0 for c in told.odds.threats) < 1.1
    full = next(r for r in told.odds.returns if r.kind is ReturnKind.FULL_SERVICE)
    pace = next(c for c in told.odds.threats if c.threat is Threat.PACE)
    assert 0.0 < pace.days <= full.late_days + 2.0  # it may then be early, too
    assert pace.cost is None
    job = read_inputs(JOB).job
    assert [m.like for m in told.odds.more] == [
        p.id
        for i, p in enumerate(job.crew)
        if p.trades not in [q.trades for q in job.crew[:i]]
    ]
    assert all(m.days > -0.1 for m in told.odds.more)
    assert max(m.days for m in told.odds.more) > 0.1
    people = {h.name: h.frac for h in told.odds.held_for if h.holder is Holder.PERSON}
    assert set(people) <= {p.id for p in job.crew}
    waits = {h.name: h.frac for h in told.odds.held_for if h.holder is Holder.WAIT}
    assert waits["flat-colour:full service"] > 0.99
    assert max(people.values()) > 0.1
    assert max(h.frac for h in told.odds.held) == 1.0
    assert all(0.0 <= h.frac <= 1.0 for h in told.odds.held)
    for curve in told.odds.curves:
        assert list(curve.frac) == sorted(curve.frac)
        assert curve.frac[-1] <= 1.0 + 1e-12


def test_the_command_says_it_in_words_json_and_a_picture(
    planned: Mapping[str, Planned], tmp_path: Path
) -> None:
    """The owner's sentence comes first; the picture says it too."""
    data, drawn = tmp_path / "odds.json", tmp_path / "odds.svg"
    ran = covetime(
        *("odds", "examples/straight/job.toml", "--futures", "500"),
        *("--out", str(planned["straight"].folder)),
        *("--json", str(data), "--picture", str(drawn)),
    )
    assert ran.returncode == 0, ran.stderr
    words = " ".join(ran.stdout.split())
    assert re.search(r"Back in full service by \w{3} \d+ \w{3} 2027 in 8 of 10", words)
    found = json.loads(data.read_text("utf-8"))
    assert found["futures"] == 500
    assert found["held_by_waits"]["flat-colour:full service"] > 0.99
    assert {m["like"] for m in found["one_more"]} <= {*found["held_by_people"]}
    assert all(set(c) >= {"days", "cost", "without"} for c in found["causes"])
    for heading in (
        "What one more person would win, their pay not counted",
        "Who holds it, still busy with what comes before",
        "What hardens and holds it",
    ):
        assert heading in words
    assert {r["kind"] for r in found["returns"]} == {
        "full service",
        "light foot traffic",
    }
    story = ET.fromstring(drawn.read_text("utf-8")).find("{*}desc")
    assert story is not None
    assert "Back in full service" in (story.text or "")
    twice = covetime(
        *("odds", "examples/straight/job.toml", "--futures", "500"),
        *("--out", str(planned["straight"].folder), "--json", str(data)),
    )
    assert twice.returncode == 2  # nothing is overwritten
    assert "odds.json" in twice.stderr


def test_the_job_file_says_how_far_things_differ(tmp_path: Path) -> None:
    """Every number can be given, and is shown by `check` with where it comes from."""
    text = JOB.read_text("utf-8").replace("../../", f"{ROOT}/")
    job = tmp_path / "job.toml"
    job.write_text(
        f'{text}\n[odds]\npace = "7 %"\naway = "0 %"\nlate_by = "48 h"\n', "utf-8"
    )
    assert dict(read_inputs(job).job.own_odds) == {
        "pace": Factor(frac=0.07),
        "away": 0.0,
        "late_by": 48.0,
    }
    ran = covetime("check", str(job))
    assert ran.returncode == 0, ran.stderr
    words = " ".join(ran.stdout.split())
    assert "pace of the crew, for all of the job: 7 % (the job file)" in words
    for one in assumed().values():
        assert one.title in words
    job.write_text(
        f'{text}\n[odds]\npace = "700 %"\nawayy = "0 %"\nlate_by = 3\n', "utf-8"
    )
    wrong = covetime("check", str(job))
    assert wrong.returncode == 2
    for word in ("odds.pace", "odds.awayy", "odds.late_by"):
        assert word in wrong.stderr


def test_a_kind_of_work_and_a_product_differ_by_their_own_spread(
    tmp_path: Path,
) -> None:
    """In three ways of saying it, shown by `check`; every fault with its place."""
    text = JOB.read_text("utf-8").replace("../../", f"{ROOT}/")
    job = tmp_path / "job.toml"
    own = (
        f"{text}\n[odds]\nwaits = "
        '{ shortest = "90 %", usual = "100 %", longest = "160 %" }\n'
        '[[labour]]\nwork = "prime"\nspread = "30 %"\n'
        '[[labour]]\nwork = "colour"\nhours = "1 h"\nper = "10 m2"\n'
        'spread = { p10 = "85 %", p90 = "130 %" }\n'
        '[[product]]\nid = "thick"\nlike = "topping"\nsheet = "its sheet"\n'
        'spread = "25 %"\n'
    )
    job.write_text(own, "utf-8")
    read = read_inputs(job).job
    assert dict(read.own_pace)["prime"] == Factor(frac=0.3)
    assert dict(read.own_waits) == {"thick": Factor(frac=0.25)}
    assert [r.work for r in read.own_rates] == ["colour"]
    played = spread(read)
    assert played.own_pace == read.own_pace
    assert played.own_waits == read.own_waits
    assert played.waits_job.median == pytest.approx(1.0771, abs=1e-4)
    ran = covetime("check", str(job))
    assert ran.returncode == 0, ran.stderr
    words = " ".join(ran.stdout.split())
    for said in (
        "waits, for all of the job: 10.7 % around 108 % of what is planned, from "
        "shortest 90 %, usual 100 %, longest 160 % (the job file)",
        "pace at prime (Primer coat): 30 % (the job file)",
        "16.6 % around 105 % of what is planned, from one in ten below 85 %, one in "
        "ten above 130 % (the job file)",
        "wait after a coat of thick: 25 % (the job file)",
    ):
        assert said in words
    job.write_text(
        own.replace('longest = "160 %"', 'longest = "105 %"')
        .replace('spread = "30 %"', "spread = 0.3")
        .replace('p90 = "130 %"', 'p90 = "80 %"')
        .replace('spread = "25 %"', 'spread = { p10 = "20 %", p90 = "900 %" }'),
        "utf-8",
    )
    wrong = covetime("check", str(job))
    assert wrong.returncode == 2
    seen = " ".join(wrong.stderr.split())
    for place, what in (
        ("odds.waits", "longest must be 110 % at least"),
        ("labour.1.spread", "0.3 is not a spread such as"),
        ("labour.2.spread", "p10 85 %, p90 80 %: they don't rise"),
        ("product.1.spread", "is a spread of 149 %; it can be 100 % at most"),
    ):
        assert place in seen
        assert what in seen


@pytest.mark.slow
def test_what_no_plan_can_promise_is_told_and_not_later_than_the_promise(
    planned, tmp_path
):
    out = tmp_path / "odds.json"
    ran = covetime(
        "odds", job_of("straight"), "--out", str(planned["straight"].folder), "--bound",
        "--json", str(out),
    )  # fmt: skip
    assert ran.returncode == 0, ran.stderr
    words = " ".join(ran.stdout.split())
    assert "No plan, and no crew that knew everything beforehand" in words
    held = json.loads(out.read_text("utf-8"))
    full = next(r for r in held["returns"] if "full" in r["kind"])
    assert held["no_plan_promises_before"]["when"] <= full["promise"]

"""The benchmarks themselves, on small inputs: what they generate, read and measure."""

import json
import signal
import subprocess
import sys
import time
from dataclasses import replace
from itertools import permutations
from typing import Any
from xml.etree import ElementTree as ET

import pytest

from planner.schedule.check.verify import verify
from planner.schedule.climb.near import SAME_TEAMS
from planner.schedule.climb.repair import MENDED
from planner.schedule.climb.solve import solve
from planner.schedule.problem.limits import SearchLimits
from planner.schedule.problem.outcome import NoPlan, Planned
from planner.schedule.problem.parts import LinkKind
from tests.benchmarks import jobs, whole
from tests.benchmarks.__main__ import main
from tests.benchmarks.clashes import CLASHES
from tests.benchmarks.greedy import bounds, first_starts
from tests.benchmarks.jobs import ALL_AIMS, CREW, SIZES, Size, made_job
from tests.benchmarks.measure import Row, measure_clash, measure_peer, measure_plan
from tests.benchmarks.peers import PEERS
from tests.benchmarks.picture import drawing
from tests.benchmarks.projects import as_instance, placed, shop_project
from tests.benchmarks.psplib import read_folder, read_project
from tests.benchmarks.summary import again, aim_table, lines, table
from tests.benchmarks.whole import measure_answer, measure_command, measure_near
from tests.published.test_jobshop import FT06
from tests.support.places import ROOT

SMALL = Size(stages=1, crew=CREW, days=28, zones_per_stage=1)

# ours, in the published form: b and d each take all of the first pool, c half of it,
# so that the three lie one after the other: 3 + 2 + 4 = 9
OURS = """\
************************************************************************
jobs (incl. supersource/sink ):  5
RESOURCES
  - renewable                 :  2   R
************************************************************************
PRECEDENCE RELATIONS:
jobnr.    #modes  #successors   successors
   1        1          2           2   3
   2        1          1           4
   3        1          1           5
   4        1          1           5
   5        1          0
************************************************************************
REQUESTS/DURATIONS:
jobnr. mode duration  R 1  R 2
------------------------------------------------------------------------
  1      1     0       0    0
  2      1     3       2    0
  3      1     2       1    0
  4      1     4       2    1
  5      1     0       0    0
************************************************************************
RESOURCEAVAILABILITIES:
  R 1  R 2
    2    1
************************************************************************
"""
OURS_BEST = 9


def never() -> bool:
    return False


def quiet(_: object) -> None:
    """Tell nobody."""


def test_the_same_seed_gives_the_same_job_and_another_seed_another():
    one = made_job(SIZES["45"], 3)
    assert one == made_job(SIZES["45"], 3)
    assert one != made_job(SIZES["45"], 4)


def test_a_generated_job_is_the_same_in_another_process():
    # hashes of text differ from process to process; the job must not hang on them
    code = (
        "import json, hashlib; from tests.support.json import to_json; "
        "from tests.benchmarks.jobs import SIZES, made_job; "
        "text = json.dumps(to_json(made_job(SIZES['45'], 3))); "
        "print(hashlib.sha256(text.encode()).hexdigest())"
    )
    said = {
        subprocess.run(
            [sys.executable, "-c", code],
            env={"PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
            cwd=ROOT,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(said) == 1


@pytest.mark.parametrize("name", list(SIZES))
def test_a_zone_has_fifteen_tasks_and_sixteen_arcs_nine_of_which_dry(name):
    size = SIZES[name]
    job = made_job(size, 1)
    arcs = [k for k in job.links if k.kind is LinkKind.FINISH_START]
    assert len(job.tasks) == size.tasks == 15 * size.zones
    assert len(arcs) == 16 * size.zones
    assert sum(bool(k.wait) for k in arcs) == 9 * size.zones
    assert len(job.links) - len(arcs) == 2 * size.zones
    assert len(job.people) == len(size.crew)
    assert len(job.closures) == size.stages


def test_the_names_of_sizes_are_their_tasks():
    assert [SIZES[n].tasks for n in ("45", "45-scarce", "90", "180", "540")] == [
        45,
        45,
        90,
        180,
        540,
    ]


def test_fewer_people_change_neither_the_work_nor_the_air():
    five, three = made_job(SIZES["45"], 2), made_job(SIZES["45-scarce"], 2)
    assert five.lookups == three.lookups
    assert [t.modes for t in five.tasks] == [t.modes for t in three.tasks]
    assert [t.no_start for t in five.tasks] == [t.no_start for t in three.tasks]


def test_drying_takes_a_quarter_of_the_speed_in_the_dampest_air():
    # 2 h at 50 % are 8 quarter hours; at 100 % four times as many; at 75 %, halfway
    # in a line, 2 h / 0.625 = 3.2 h, over after 13 quarter hours
    days = 48
    assert jobs._dry_at([50.0] * days, 2000)[0] == 8
    assert jobs._dry_at([100.0] * days, 2000)[0] == 32
    assert jobs._dry_at([75.0] * days, 2000)[0] == 13
    # 1 h at 50 %, then damp: the other hour takes four
    assert jobs._dry_at([50.0] + [100.0] * days, 2000)[0] == 4 + 16


def test_a_wait_that_is_not_over_in_time_lies_beyond_the_horizon():
    over = jobs._dry_at([50.0] * 3, 2000)  # 12 ticks, the wait 8
    assert list(over[:5]) == [8, 9, 10, 11, 12]
    assert all(at > 12 for at in over[5:])


def test_people_are_absent_four_days_in_a_hundred_and_called_off_on_twenty_six():
    # 5000 days: three standard deviations are 0.8 and 1.9 in a hundred
    people = [
        p
        for seed in range(40)
        for p in made_job(replace(SIZES["45"], days=35), seed).people
    ]
    left = [
        p.open.clip(*shift).total
        for p in people
        for week in [p.shifts]
        for shift in week
    ]
    assert len(left) == 5000
    assert abs(left.count(0) / 5000 - 0.04) < 0.009
    assert abs(sum(0 < ticks < 36 for ticks in left) / 5000 - 0.26) < 0.02
    assert {36 - ticks for ticks in left} == {0, 4, 8, 12, 36}


def test_what_may_start_in_damp_air_is_less_the_drier_it_must_be():
    job = made_job(SIZES["45"], 3)
    (prime,) = next(t for t in job.tasks if t.id == "z00-prime").no_start
    (varnish,) = next(t for t in job.tasks if t.id == "z00-varnish").no_start
    assert prime.ticks
    assert prime.ticks & varnish.ticks == prime.ticks != varnish.ticks


def test_a_project_is_read_without_its_begin_and_end():
    project = read_project("ours", OURS)
    assert project.ticks == (3, 2, 4)
    assert project.needs == ((2, 0), (1, 0), (2, 1))
    assert project.capacity == (2, 1)
    assert project.arcs == ((0, 2),)
    assert project.sinks == (1, 2)
    assert (project.set, project.best_known) == ("j3", None)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("   2        1          1           4", "   2        2          1      4", "modes"),
        ("   2        1          1           4", "   2        1          2      4", "1 of 2"),
        ("RESOURCEAVAIL", "AVAIL", "no section"),
        ("  2      1     3       2    0", "  2      1     3       2", "job 2"),
        ("  1      1     0       0    0", "  1      1     1       0    0", "no time"),
        ("  4      1     4       2    1\n", "", "numbered"),
    ],
)  # fmt: skip
def test_a_file_of_another_kind_is_refused(old, new, said):
    assert old in OURS
    with pytest.raises(ValueError, match=said):
        read_project("ours", OURS.replace(old, new))


def test_a_folder_is_read_with_the_best_known_values(tmp_path):
    (tmp_path / "k1.sm").write_text(OURS)
    (tmp_path / "k10.sm").write_text(OURS)
    (tmp_path / "k2.sm").write_text(OURS)
    (tmp_path / "best_known.csv").write_text(
        "set,instance,lower_bound,best_known\nsmall,k2.sm,8,9\n"
    )
    found = read_folder(tmp_path)
    assert [p.name for p in found] == ["k1", "k2", "k10"]
    assert [p.best_known for p in found] == [None, 9, None]
    assert (found[1].set, found[1].proven_bound) == ("small", 8)


def test_the_greedy_start_keeps_arcs_and_pools():
    project = read_project("ours", OURS)
    known = bounds(project)
    # the chain is 3 + 4; the first pool holds 2 and is asked for 6 + 2 + 8 = 16
    assert (known.head, known.tail, known.least) == ((0, 0, 3), (4, 0, 0), 8)
    starts = first_starts(project, known)
    assert verify(as_instance(project), placed(project, starts)) == ()


@pytest.mark.parametrize("seed", range(5))
def test_every_solver_proves_the_best_of_all_orders(seed):
    # four activities on a pool that holds two of them at most: the best length of all
    # orders, each placed as early as it goes, is the least there is
    ticks = tuple(1 + (seed + 3 * k) % 5 for k in range(4))
    project = replace(
        read_project("ours", OURS),
        set="orders",
        ticks=ticks,
        needs=((1,), (1,), (1,), (1,)),
        capacity=(2,),
        arcs=((0, 3),),
    )
    best = min(
        _length_in_order(ticks, order)
        for order in permutations(range(4))
        if order.index(0) < order.index(3)
    )
    for peer in PEERS:
        if peer == "PyJobShop":
            pytest.importorskip("pyjobshop")
        row = measure_peer(project, peer, clock_s=10, stop=never)
        assert (row.value, row.bound, row.proven) == (best, best, True)
    row = _engine(project.set, as_instance(project))
    assert (row.value, row.bound, row.proven) == (best, best, True)


def _length_in_order(ticks, order):
    """Return the length when each starts as early as two at a time allow."""
    ends: dict[int, int] = {}
    busy = [0] * sum(ticks)
    for k in order:
        at = ends[0] if k == 3 else 0
        while any(busy[at : at + ticks[k]][t] > 1 for t in range(ticks[k])):
            at += 1
        for t in range(at, at + ticks[k]):
            busy[t] += 1
        ends[k] = at + ticks[k]
    return max(ends.values())


def _engine(group, instance, clock_s=10.0, **more):
    return measure_plan(
        group,
        "one",
        instance,
        clock_s=clock_s,
        work=1e6,
        stop=never,
        tell=quiet,
        **more,
    )


@pytest.mark.parametrize("solver", ["engine", *PEERS])
def test_a_job_shop_and_a_project_are_proven_by_everybody(solver):
    # ft06: Fisher and Thompson 1963, 55
    if solver == "PyJobShop":
        pytest.importorskip("pyjobshop")
    shop = shop_project("ft06", FT06, best_known=55)
    for project, best in ((shop, 55), (read_project("ours", OURS), OURS_BEST)):
        row = (
            _engine(project.set, as_instance(project))
            if solver == "engine"
            else measure_peer(project, solver, clock_s=10, stop=never)
        )
        assert (row.value, row.bound, row.proven) == (best, best, True)
        assert row.gap_pct == 0


def test_a_generated_job_is_planned_and_its_plan_checked():
    job = made_job(SIZES["45"], 1)
    outcome = solve(job, limits=SearchLimits(clock_s=5), explain=False)
    assert isinstance(outcome, Planned)
    assert verify(job, outcome.placements) == ()


def test_all_aims_of_a_small_job_are_measured():
    row = _engine("small", made_job(SMALL, 1, aims=ALL_AIMS), clock_s=3)
    assert [a.aim for a in row.aims] == [aim.value for aim in ALL_AIMS]
    assert all(a.bound <= a.value for a in row.aims)
    assert row.aims[0].bound == row.aims[0].value == row.value
    assert 0 <= row.first_s <= row.seconds


@pytest.mark.parametrize("case", list(CLASHES))
def test_a_job_made_impossible_has_no_plan_for_the_reason_that_was_made(case):
    job = made_job(SMALL, 1)
    best = solve(job)
    assert isinstance(best, Planned)
    assert best.aims[0].proven
    instance = CLASHES[case](job, best.aims[0].value)
    assert isinstance(solve(instance, explain=False), NoPlan)
    row = measure_clash(
        f"clash {case}", "one", instance, clock_s=20, work=None, stop=never
    )
    assert row.stopped == ""
    assert row.value == len(row.facts) > 0
    reason = {
        "chain": {"stage00 due"},
        "people": {"stage00 due"},
        "pin": {"varnish on the first day"},
        "window": {"z00-colour2 within 72 h", "z00-colour1 dries before colour2"},
    }[case]
    assert reason <= set(row.facts)


A_ROW = Row(
    set="x",
    instance="one",
    size=9,
    solver="engine",
    limit_s=30.0,
    seconds=1.0,
    cpu_s=1.0,
    first_s=None,
    value=100,
    bound=100,
    proven=True,
    gap_pct=0.0,
)


def a_row(**more: Any) -> Row:
    return replace(A_ROW, **more)


def test_a_line_brings_rows_together():
    rows = [
        a_row(seconds=1.0, first_s=0.25, best_known=100),
        a_row(seconds=4.0, instance="two", proven=False, gap_pct=8.0, best_known=80),
        a_row(
            seconds=2.0,
            instance="three",
            value=None,
            bound=None,
            proven=False,
            gap_pct=None,
        ),
        a_row(seconds=9.0, solver="lean", size=12),
    ]
    one, two = lines(rows)
    assert (one.runs, one.planned, one.proven) == (3, 2, 1)
    assert (one.median_s, one.p90_s, one.max_s) == (2.0, 4.0, 4.0)
    assert (one.first_median_s, one.search_median_s) == (0.25, 0.75)
    assert (one.gap_mean_pct, one.gap_max_pct) == (4.0, 8.0)
    # 100 against 100 and against 80: equal once, 0 and 25 % above
    assert (one.equal_known, one.above_known_mean_pct) == (1, 12.5)
    assert (two.solver, two.size, two.runs) == ("lean", 12, 1)


def test_plans_that_differ_for_the_same_instance_are_counted():
    same = [a_row(plan="a"), a_row(plan="a")]
    assert lines(same)[0].unsteady == 0
    assert lines([*same, a_row(plan="b")])[0].unsteady == 1
    assert "x, engine: 1 of 1 with the same plan each time" in again(lines(same))
    assert again(lines([a_row()])) == ""


def test_the_table_has_a_row_for_each_line_and_aims_only_where_several():
    rows = [a_row(), a_row(solver="lean")]
    text = table(lines(rows)).splitlines()
    assert text[0].split()[:4] == ["set", "tasks", "solver", "runs"]
    assert [row.split()[2] for row in text[1:3]] == ["engine", "lean"]
    assert aim_table(rows) == ""


def test_the_picture_has_a_mark_for_each_run_hollow_where_unproven():
    rows = [a_row(), a_row(proven=False), a_row(solver="lean"), a_row(solver="lean")]
    svg = ET.fromstring(drawing(rows))
    space = {"s": "http://www.w3.org/2000/svg"}
    circles = svg.findall("s:circle", space)
    # one more of each shape in the legend
    assert len(circles) == 2 + 1
    assert len(svg.findall("s:polygon", space)) == 2 + 1
    assert sum(c.get("fill") == "#ffffff" for c in circles) == 1
    assert svg.findtext("s:title", namespaces=space) == "Time against size"


def test_the_command_writes_table_json_and_picture(tmp_path, capsys):
    (tmp_path / "in").mkdir()
    (tmp_path / "in" / "ours.sm").write_text(OURS)
    (tmp_path / "in" / "best_known.csv").write_text(
        "set,instance,lower_bound,best_known\nj30,ours.sm,9,9\n"
    )
    out = tmp_path / "out"
    options = f"--sets j30 --psplib {tmp_path / 'in'} --peers lean --repeat 2 --busy 1"
    assert main([*options.split(), "--seconds", "5", "--out", str(out)]) == 0
    said = capsys.readouterr()
    assert said.out == (out / "table.txt").read_text()
    data = json.loads((out / "results.json").read_text())
    assert [(r["solver"], r["value"], r["proven"]) for r in data["rows"]] == [
        ("engine", OURS_BEST, True),
        ("engine", OURS_BEST, True),
        ("lean", OURS_BEST, True),
        ("lean", OURS_BEST, True),
    ]
    assert [line["equal_known"] for line in data["summary"]] == [2, 2]
    assert all(r["peak_mib"] > 10 for r in data["rows"])
    assert "engine: 1 of 1 with the same plan each time" in said.out
    ET.fromstring((out / "picture.svg").read_text())
    assert "4 of 4 runs" in said.err


def test_an_example_is_answered_and_its_aims_are_proven():
    row = measure_answer("straight", never, clock_s=60.0)
    assert row.proven
    assert [a.aim for a in row.aims] == ["last-return", "closed", "calls"]
    assert row.size > 20
    assert row.cpu_s > 0.0


@pytest.mark.slow
@pytest.mark.parametrize("change", whole.CHANGES)
def test_a_changed_example_is_answered_near_the_answer_at_hand(change):
    row = measure_near(change, never, clock_s=60.0)
    assert row.value is not None
    assert not row.proven
    assert row.stopped in {MENDED, SAME_TEAMS}


def test_a_command_is_measured_as_a_process_of_its_own():
    row = measure_command("dry", 30.0)
    assert row.stopped == "exit status 0"
    assert row.cpu_s > 0.0
    assert row.peak_mib > 10


def test_a_command_that_fails_is_no_measure(monkeypatch):
    monkeypatch.setattr(whole, "COMMANDS", {"odd": ("dry", "no-such-product")})
    with pytest.raises(AssertionError, match="odd: exit status 2"):
        measure_command("odd", 30.0)


def test_projects_that_were_not_given_are_asked_for(tmp_path, capsys):
    with pytest.raises(SystemExit) as ended:
        main(["--sets", "j60", "--out", str(tmp_path)])
    assert ended.value.code == 2
    assert "unknown set 'j60'" in capsys.readouterr().err


@pytest.mark.slow
def test_an_interrupted_command_keeps_what_was_measured(tmp_path):
    (tmp_path / "in").mkdir()
    for k in range(400):
        (tmp_path / "in" / f"k{k}.sm").write_text(OURS)
    options = f"--sets j3 --psplib {tmp_path / 'in'} --peers lean --out {tmp_path}"
    with subprocess.Popen(
        [sys.executable, "-m", "tests.benchmarks", *options.split()],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    ) as running:
        results = tmp_path / "results.json"
        while running.poll() is None and not results.exists():
            time.sleep(0.02)
        running.send_signal(signal.SIGINT)
        said, told = running.communicate(timeout=30)
    assert running.returncode == 130
    rows = json.loads(results.read_text())["rows"]
    assert 0 < len(rows) < 800
    assert said.startswith("set")
    assert f"interrupted; {len(rows)} of 800 runs" in told

"""The ready set of levers: each can be said, reads as a job file does, and is ranked.

Tests of planner/levers/air.py, planner/levers/crew.py, planner/levers/lever.py,
planner/levers/methods.py, planner/levers/ready.py.
"""

from pathlib import Path

import pytest

from planner.air.moist_air import vapour_pa
from planner.levers.lever import DRYING, PEOPLE, WORKING, Lever
from planner.levers.ready import MOST_PAIRS, Pulled, joint, levers, pairs
from planner.nouns.job import Job
from planner.usecases.comparing.compare import read_levers
from planner.usecases.read import Papers
from tests.support.places import ROOT
from tests.support.values import DAMP_ROOM, STRAIGHT, changed, job_file

CORNER = ROOT / "examples/corner/job.toml"


def job_of(path: Path) -> Job:
    return Papers(path).inputs().job


def tried_of(path: Path) -> tuple[Lever, ...]:
    papers = Papers(path)
    return levers(papers.inputs().job, papers.values)


def changed_by(path: Path, title: str) -> Job:
    """Return the job with a lever of the ready set laid over it."""
    papers = Papers(path)
    (one,) = (x for x in tried_of(path) if x.title == title)
    (idea,) = read_levers(papers, [one])
    return idea.inputs.job


def titles(path: Path) -> list[str]:
    return [x.title for x in tried_of(path)]


# ------------------------------------------------------------------- what is tried


def test_every_lever_of_an_example_can_be_said_to_its_job_file():
    papers = Papers(CORNER)
    found = levers(papers.inputs().job, papers.values)
    ideas = read_levers(papers, found)
    assert [i.title for i in ideas] == [x.title for x in found]
    assert len({i.inputs.fingerprint for i in ideas}) == len(found) > 15
    assert all(i.inputs.job != papers.inputs().job for i in ideas)


def test_one_more_of_each_trade_works_as_one_who_is_there(tmp_path):
    path = job_file(tmp_path, STRAIGHT + 'rate = 40\nshifts = ["Tue-Sat 10:00-16:00"]')
    crew = changed_by(path, "one more labourer").crew
    bo, more = crew[1], crew[2]
    assert (more.name, more.trades) == ("one more labourer", ("labourer",))
    assert (more.shifts, more.rate_per_h) == (bo.shifts, 40)
    wanted = {f"one more {t}" for t in ("carpenter", "finisher", "labourer", "painter")}
    assert wanted <= set(titles(path))


def test_saturdays_for_those_who_have_none_in_their_last_weekdays_hours():
    crew = {p.name: p for p in changed_by(CORNER, "Saturdays for all of the crew").crew}
    assert [s.weekdays for s in crew["Hedda"].shifts] == [(1, 2, 3, 4), (5,)]
    assert crew["Hedda"].shifts[1].hours == crew["Hedda"].shifts[0].hours
    before = {p.name: p for p in job_of(CORNER).crew}
    assert crew["Oluwaseun"] == before["Oluwaseun"]  # has a Saturday


def test_a_longer_day_ends_within_the_stages_own_hours(tmp_path):
    title = "all of the crew stay up to 2 h longer"
    crew = {p.name: p for p in changed_by(CORNER, title).crew}
    ends = [str(s.hours[-1][1]) for s in crew["Hedda"].shifts]
    assert ends == ["21:00:00"]
    shut = changed(STRAIGHT, ("[stage]", '[stage]\nhours = "07:00-17:30"'))
    path = job_file(tmp_path, shut)
    assert {str(p.shifts[0].hours[-1][1]) for p in changed_by(path, title).crew} == {
        "17:30:00"
    }
    path = job_file(tmp_path, changed(shut, ("17:30", "17:00")))
    assert title not in titles(path)


def test_heat_at_night_leaves_the_water_in_the_air():
    before = job_of(CORNER).air
    after = changed_by(CORNER, "heat at night as by day").air
    assert after.night_c == pytest.approx(before.day_c, abs=0.01)
    assert float(vapour_pa(after.night_c, after.night_rh_pct)) == pytest.approx(
        float(vapour_pa(before.night_c, before.night_rh_pct)), rel=0.005
    )
    assert (after.day_c, after.day_rh_pct) == pytest.approx(
        (before.day_c, before.day_rh_pct), abs=0.01
    )


def test_drier_air_is_ten_points_drier_and_never_below_thirty(tmp_path):
    title = "a dehumidifier holds the air 10 points of humidity drier"
    air = changed_by(CORNER, title).air
    assert (air.day_rh_pct, air.night_rh_pct) == (35, 42)
    dry = (
        '\n[air]\nhumidity = "34 %"\n[[air.month]]\nmonth = "Feb"\nhumidity = "28 %"\n'
    )
    job = changed_by(job_file(tmp_path, STRAIGHT + dry), title)
    assert job.air.day_rh_pct == 30
    assert [a.day_rh_pct for _, a in job.air_months] == [28]
    driest = job_file(tmp_path, STRAIGHT + '\n[air]\nhumidity = "30 %"\n')
    assert title not in titles(driest)


def test_a_room_that_is_described_gets_a_machine(tmp_path):
    night = changed(DAMP_ROOM, ('to = "19 C"', 'to = "19 C"\nhours = "06:00-18:00"'))
    path = job_file(tmp_path, STRAIGHT + night)
    climate = changed_by(path, "one more dehumidifier of 30 l a day").climate
    assert climate is not None
    assert [d.rated_l_per_day for d in climate.dehumidifiers] == [30]
    warm = changed_by(path, "heat at night as by day").climate
    assert warm is not None
    assert [(t.heat_to_c, bool(t.hours)) for t in warm.thermostats] == [
        (19, True),
        (19, False),
    ]
    always = job_file(tmp_path, STRAIGHT + DAMP_ROOM)
    assert "heat at night as by day" not in titles(always)


def test_methods_are_tried_the_other_way_where_that_may_help(tmp_path):
    slow = 'sanding = "stage"\nnext_coat_after = "dry"\nfill = "foam"\ntape = "mesh"'
    text = changed(STRAIGHT, ("[stage]", f"[methods]\n{slow}\n[stage]"))
    found = {x.title: x.say for x in tried_of(job_file(tmp_path, text))}
    assert set(found.values()) >= {
        'methods.sanding="workshop"',
        'methods.next_coat_after="set"',
        'methods.fill="mortar"',
        'methods.primer_in="bays"',
        'methods.lifting="hoist"',
    }
    assert not any("tape" in say or '"foam"' in say for say in found.values())


def test_what_the_file_cant_have_is_left_out(tmp_path):
    """A primer with fumes can't go on bay by bay."""
    text = changed(
        STRAIGHT, ("[stage]", '[methods]\nprimer = "solvent-primer"\n[stage]')
    )
    papers = Papers(job_file(tmp_path, text))
    found = levers(papers.inputs().job, papers.values)
    kept = [i.title for i in read_levers(papers, found)]
    assert "primer bay by bay" in [x.title for x in found]
    assert "primer bay by bay" not in kept
    assert len(kept) == len(found) - 1


def test_the_set_hangs_neither_on_the_order_of_the_crew_nor_on_that_of_the_file(
    tmp_path,
):
    head, _, crew = STRAIGHT.partition("[[crew]]")
    one, two = crew.split("[[crew]]")
    other = f"[[crew]]{two}\n[[crew]]{one}\n{head}"
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    same = tried_of(job_file(tmp_path / "a"))
    moved = tried_of(job_file(tmp_path / "b", other))
    assert [(x.title, sorted(x.say.split("; "))) for x in same] == [
        (x.title, sorted(x.say.split("; "))) for x in moved
    ]


def test_two_of_one_name_are_reached_by_number(tmp_path):
    text = changed(STRAIGHT, ('name = "Bo"', 'name = "Ana"\nid = "other"'))
    path = job_file(tmp_path, text)
    crew = changed_by(path, "Saturdays for all of the crew").crew
    assert [len(p.shifts) for p in crew] == [2, 2]


# --------------------------------------------------------------------------- pairs


def one(title: str, *eases: str, key: str = "") -> Lever:
    return Lever(
        title=title,
        say=f"{title}=1",
        keys=frozenset([key or title]),
        eases=frozenset(eases),
    )


def pulled(lever: Lever, days: float = 0.0, **minutes: int) -> Pulled:
    names = {"drying": DRYING, "people": PEOPLE, "working": WORKING}
    left = {names[k]: v for k, v in minutes.items()}
    return Pulled(lever=lever, days=days, minutes=left)


def test_a_pair_is_tried_where_each_eases_what_the_other_leaves():
    a, b, c = one("a", DRYING), one("b", PEOPLE), one("c", WORKING)
    tried = [
        pulled(a, people=500, working=90),
        pulled(b, drying=400),
        pulled(c, drying=90),
    ]
    assert pairs(tried) == ((a, b),)
    assert pairs(tried[::-1]) == ((a, b),)
    more = [
        pulled(a, people=500, working=90),
        pulled(b, drying=400),
        pulled(c, 1.0, drying=90),
    ]
    assert pairs(more) == ((a, c),)  # gains a day apart
    less = [*more[:2], pulled(c, -1.0, drying=90)]
    assert pairs(less) == ((a, b),)  # loses one


def test_no_pair_of_levers_at_the_same_key_or_with_nothing_left_to_ease():
    a, b = one("a", DRYING, key="air"), one("b", PEOPLE, key="air")
    assert pairs([pulled(a, people=5), pulled(b, drying=5)]) == ()
    c = one("c", PEOPLE)
    assert pairs([pulled(a, people=0), pulled(c, drying=5)]) == ()
    assert pairs([pulled(a, people=5)]) == ()
    same = one("d", DRYING)
    assert pairs([pulled(a, drying=5), pulled(same, drying=5)]) == ()


def test_few_pairs_are_tried_and_each_lever_in_one_of_them():
    count = MOST_PAIRS + 3
    rows = [pulled(one(f"a{n}", DRYING), people=10 + n) for n in range(count)]
    rows += [pulled(one(f"b{n}", PEOPLE), drying=10 + n) for n in range(count)]
    found = pairs(rows)
    assert len(found) == MOST_PAIRS
    assert len({x.title for pair in found for x in pair}) == 2 * MOST_PAIRS
    assert [x.title for x in found[0]] == [f"a{count - 1}", f"b{count - 1}"]


def test_two_as_one_say_both():
    both = joint(one("a", DRYING), one("b", PEOPLE))
    assert both == Lever(
        title="a, and b",
        say="a=1; b=1",
        keys=frozenset("ab"),
        eases=frozenset([DRYING, PEOPLE]),
    )

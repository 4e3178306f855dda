"""What may make a job fit that has no plan: each kind in its steps, the smallest first.

No plan is made here: what is tried is read from the job alone.

Tests of planner/levers/air.py, planner/levers/crew.py, planner/levers/methods.py,
planner/levers/ways_out.py.
"""

import re
from pathlib import Path

import pytest

from planner.levers.ways_out import WayOut, ways_out
from planner.usecases.read import Papers
from tests.support.values import DAMP_ROOM, STRAIGHT, changed, job_file

DELIVERED = changed(STRAIGHT, ("[survey]", "delivery = 2027-02-12T10:00:00\n[survey]"))


def ways(path: Path) -> list[WayOut]:
    papers = Papers(path)
    return list(ways_out(papers.inputs().job, papers.values, ()))


def said(path: Path, key: str) -> list[list[str]]:
    """Return what each kind that speaks of a key says, step by step."""
    found = [[lever.say for lever in way.levers] for way in ways(path)]
    return [says for says in found if says and key in says[0]]


def more_people(path: Path) -> list[list[str]]:
    """Return what is said of one more, and of two, of each trade."""
    return [
        [lever.say for lever in way.levers]
        for way in ways(path)
        if way.levers and way.levers[0].title.startswith("one more ")
    ]


def test_the_crates_come_on_each_of_the_ten_days_after(tmp_path):
    """From a Friday, the 12th, on: one day may be as good as another, so each is told."""
    first = ways(job_file(tmp_path, DELIVERED))[0]
    assert (first.of, first.rising) == (("delivery",), False)
    assert [x.title for x in first.levers][:2] == [
        "the crates come Sat 13 Feb 2027, 10:00",
        "the crates come Sun 14 Feb 2027, 10:00",
    ]
    says = [x.say for x in first.levers]
    assert says == [f"job.delivery=2027-02-{d}T10:00:00" for d in range(13, 23)]
    assert {x.keys for x in first.levers} == {frozenset(["job.delivery"])}


def test_without_a_day_of_delivery_there_is_none_to_move(tmp_path):
    assert said(job_file(tmp_path), "job.delivery") == []


@pytest.mark.parametrize(
    ("hours", "wider"),
    [
        ("07:00-17:30", ["06:00-23:00", "00:00-24:00"]),
        ("05:00-23:30", ["00:00-24:00"]),
        ("05:00-22:00", ["05:00-23:00", "00:00-24:00"]),
        ("08:00-24:00", ["06:00-24:00", "00:00-24:00"]),
        ("00:00-24:00", []),
    ],
)
def test_the_building_opens_wider_and_never_less_wide(tmp_path, hours, wider):
    text = changed(STRAIGHT, ("[stage]", f'[stage]\nhours = "{hours}"'))
    (told,) = [w for w in ways(job_file(tmp_path, text)) if "stage-hours" in w.of]
    assert [x.say for x in told.levers] == [f'stage.hours="{w}"' for w in wider]


def test_a_longer_day_by_steps_ends_at_ten_in_the_evening(tmp_path):
    """Half an hour, 1, 2, 3 and 4 hours after 19:30; Bo stays until 22:30 as it is."""
    shifts = 'shifts = ["Mon-Fri 08:00-{}"]\n'
    text = STRAIGHT.replace("[[crew]]\n", "[[crew]]\n" + shifts.format("19:30"), 1)
    text = text.replace('name = "Bo"', shifts.format("22:30") + 'name = "Bo"')
    steps = said(job_file(tmp_path, text), ".shifts")[0]
    ends = [re.findall(r"-(\d\d:\d\d)", step) for step in steps]
    assert ends == [["20:00"], ["20:30"], ["21:30"], ["22:00"], ["22:00"]]
    assert all("Bo" not in step for step in steps)


def test_one_more_and_two_of_each_trade_work_as_the_first_by_name(tmp_path):
    """Bo and Ana both paint: the hours and the rate are Ana's."""
    text = changed(
        STRAIGHT,
        ('name = "Ana"', 'name = "Ana"\nrate = 50\nshifts = ["Mon-Thu 09:00-15:00"]'),
    )
    found = more_people(job_file(tmp_path, text))
    assert [len(steps) for steps in found] == [2, 2, 2, 2]
    painter = found[3]
    like = 'trades = ["painter"], shifts = ["Mon-Thu 09:00-15:00"], rate = 50'
    one = f'{{name = "one more painter", {like}'
    assert painter[0].startswith(f"more.crew=[{one}")
    assert painter[0].count("name = ") == 1
    assert 'name = "another painter"' in painter[1]
    assert painter[1].count(like) == 2


def test_a_trade_that_nobody_has_is_told_where_there_is_no_plan(tmp_path):
    text = changed(STRAIGHT, ('"carpenter", ', ""))
    says = [steps[0] for steps in more_people(job_file(tmp_path, text))]
    assert says[0] == (
        'more.crew=[{name = "one more carpenter", trades = ["carpenter"]}]'
    )


def test_who_is_called_so_already_isnt_added_again(tmp_path):
    text = changed(STRAIGHT, ('name = "Bo"', 'name = "one more labourer"'))
    trades = [s[0] for s in more_people(job_file(tmp_path, text))]
    assert len(trades) == 3
    assert not any('"labourer"' in one for one in trades)


def test_air_is_warmer_with_the_same_water_and_drier_down_to_a_fifth(tmp_path):
    """21 °C at 50 % holds 1243 Pa; at 22 °C, of 2644 Pa, that is 47 %.

    Saturation at 21 and 22 °C: 2487 and 2644 Pa, ASHRAE Handbook, Fundamentals,
    table of the properties of saturated moist air, from memory.
    """
    text = STRAIGHT + '\n[air]\ntemperature = "21 C"\nhumidity = "50 %"\n'
    warmer, drier = said(job_file(tmp_path, text), "air.")[-2:]
    assert len(warmer) == 7
    assert 'air.temperature="22 C"' in warmer[0]
    rh = re.search(r'air\.humidity="([\d.]+) %"', warmer[0])
    assert rh
    assert float(rh[1]) == pytest.approx(100 * 0.5 * 2487 / 2644, abs=0.1)
    assert 'air.temperature="33 C"' in warmer[-1]
    pct = [re.findall(r'humidity="([\d.]+) %"', step) for step in drier]
    assert pct == [["45"], ["40"], ["35"], ["30"], ["20"], ["20"]]
    assert all('temperature="21 C"' in step for step in drier)


def test_a_room_that_is_described_has_no_other_air_to_assume(tmp_path):
    assert not [
        way
        for way in ways(job_file(tmp_path, STRAIGHT + DAMP_ROOM))
        if way.of == ("limits",)
    ]


def test_methods_are_tried_for_what_they_may_ease(tmp_path):
    text = changed(STRAIGHT, ("[stage]", '[methods]\nfill = "foam"\n[stage]'))
    found = {
        way.levers[0].say: way.of
        for way in ways(job_file(tmp_path, text))
        if way.levers and way.levers[0].say.startswith("methods.")
    }
    assert found['methods.lifting="hoist"'] == ("lifts",)
    assert found['methods.primer_in="bays"'] == ("too long", "limits", "person:")
    assert found['methods.fill="mortar"'] == ("limits", "window:")
    kinds = {say.partition("=")[0] for say in found}
    assert kinds <= {
        *("methods.lifting", "methods.primer_in", "methods.fill"),
        *("methods.setting", "methods.primer"),
    }

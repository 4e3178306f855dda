"""Hours from quantities: height, curve, shifts' worth of setting up, teams, spans.

Tests of planner/planning/problem.py, planner/planning/refusals/too_long.py,
planner/trade/data/labour.py, planner/trade/heights.py, planner/trade/work.py.
"""

import math

import pytest

from planner.errors import NoPlanError
from planner.files.job.jobfile import read_job
from planner.hours.spans import Spans
from planner.nouns.work import Pace
from planner.planning.posing import problem_of
from planner.planning.refusals.too_long import _common, _longest, refuse
from planner.trade.data import labour, materials
from planner.trade.takeoff import take_off
from planner.trade.work import work
from planner.usecases.read import read_inputs
from tests.support.finished import plan_of
from tests.support.rooms import ROOMS, measured
from tests.support.values import STRAIGHT, changed, job_file

FURRED = changed(STRAIGHT, ("[stage]", '[methods]\nbacking = "furred"\n[stage]'))
TEN_FEET_M = 3.048
HIGHER = 1.4  # awci.org, Practical Estimating (Part 2): board labour +40 % above 10 ft


def task(tmp_path, id_: str, text: str = STRAIGHT, *pairs: tuple[str, str]):
    job = read_job(job_file(tmp_path, changed(text, *pairs)))
    ids = tuple(r.name for r in job.stage.runs)
    made = work(job, take_off(job, ids=ids), materials.load())
    return next(t for t in made.tasks if t.id == id_)


def test_every_rate_and_allowance_says_where_it_comes_from():
    for rate in labour.rates().values():
        assert rate.source
        for allowance in (rate.high, rate.curve):
            assert allowance is None or allowance.source


# ------------------------------------------------------------------- height


@pytest.mark.parametrize("ceiling_m", [2.9, TEN_FEET_M, 3.5, 5.0])
def test_board_above_ten_feet_takes_two_fifths_longer(tmp_path, ceiling_m):
    # 5 m of wall, boarded from 35 1/2 in up, 0.107 h/m²
    high_m2 = 5.0 * max(ceiling_m - TEN_FEET_M, 0.0)
    work_h = 0.107 * (5.0 * (ceiling_m - 0.9017) + (HIGHER - 1.0) * high_m2)
    board = task(tmp_path, "board.wall", FURRED, ('"2.9 m"', f'"{ceiling_m} m"'))
    assert board.person_hours == pytest.approx(work_h)
    assert ("above 10 ft" in board.source) == (ceiling_m > TEN_FEET_M)


def test_a_higher_ceiling_never_takes_fewer_hours(tmp_path):
    def hours(ceiling_m: float) -> dict[str, float]:
        job = read_job(
            job_file(tmp_path, changed(STRAIGHT, ('"2.9 m"', f'"{ceiling_m} m"')))
        )
        made = work(job, take_off(job, ids=("wall",)), materials.load())
        return {t.id: t.person_hours for t in made.tasks}

    low, high = hours(3.0), hours(6.0)
    assert all(high[k] >= h for k, h in low.items())
    # wall above 10 ft counts 1.4 times: 5 m x 2.952 m more than plain area gives
    plain = 0.058 * 5.0 * 3.0
    assert high["prime-1"] - low["prime-1"] == pytest.approx(
        plain + 0.058 * (HIGHER - 1.0) * 5.0 * (6.0 - TEN_FEET_M)
    )


def test_the_coves_take_longer_to_paint_than_the_wall(tmp_path):
    # Area by the kit: pi/2 x 914.4 mm and two lips of 38.1 mm across, 5 m along;
    # wall above it up to 2.9 m. A quarter more in the coves: from memory.
    cove_m2 = (math.pi / 2 * 0.9144 + 2 * 0.0381) * 5.0
    wall_m2 = 5.0 * (2.9 - 0.9525)
    ends_m2 = 2 * 0.9144**2 * (1 - math.pi / 4)  # the pieces at its two free ends
    prime = task(tmp_path, "prime-1")
    assert prime.person_hours == pytest.approx(
        0.058 * (wall_m2 + ends_m2 + 5 * 0.127 + 1.25 * cove_m2)  # 5 in of floor too
    )


# ------------------------------------------------------ setting up, by shift


def test_setting_up_is_apart_from_the_work(tmp_path):
    # half an hour to set up for sanding, a quarter for boarding: from memory
    assert labour.rates()["sand-modules"].set_up_h == 0.5
    assert task(tmp_path, "board.wall", FURRED).set_up_h == 0.25


def test_what_nothing_keeps_apart_sets_up_once_for_all_bays(tmp_path):
    job, takeoff = measured(tmp_path, ROOMS[5])  # three runs, two corners
    tasks = work(job, takeoff, materials.load()).tasks
    for kind in ("sand-modules", "cut", "cap", "wipe", "shadow", "mark"):
        count = sum(t.phase == kind for t in tasks)
        assert count == (5 if kind == "mark" else 1), kind


# -------------------------------------------------------- one go, and too long

ONE_SHIFT = """
[[crew]]
name = "Ana"
trades = ["carpenter", "finisher", "painter"]
shifts = ["Mon-Fri {hours}"]

[[crew]]
name = "Bo"
trades = ["labourer", "painter"]
shifts = ["Mon-Fri {hours}"]
"""


def crew(hours: str, length: str = "12 m") -> str:
    head = STRAIGHT[: STRAIGHT.index("[[crew]]")]
    return changed(head, ('"5 m"', f'"{length}"')) + ONE_SHIFT.format(hours=hours)


def problem(tmp_path, text: str, weeks: int = 6):
    return problem_of(read_inputs(job_file(tmp_path, text)), weeks=weeks)


def refusal(tmp_path, text: str) -> NoPlanError:
    made = problem(tmp_path, text)
    with pytest.raises(NoPlanError) as caught:
        refuse(made, lambda: made)
    return caught.value


def test_colour_that_just_fits_a_shift_is_not_refused(tmp_path):
    made = problem(tmp_path, crew("07:00-15:00"))
    colour = next(t for t in made.instance.tasks if t.id == "colour-1")
    two = next(m.ticks for m in colour.modes if m.size == 2) + colour.set_up
    end_min = 7 * 60 + 15 * two
    just = f"07:00-{end_min // 60:02d}:{end_min % 60:02d}"
    fits = problem(tmp_path, crew(just))
    refuse(fits, lambda: fits)
    end_min -= 15
    less = f"07:00-{end_min // 60:02d}:{end_min % 60:02d}"
    error = refusal(tmp_path, crew(less))
    assert "Colour coat 1" in error.conflict[0]


def test_the_refusal_says_hours_by_team_the_longest_span_and_what_helps(tmp_path):
    error = refusal(tmp_path, crew("08:00-11:00 12:00-14:30", "20 m"))
    clash = next(c for c in error.conflict if "Colour coat 1" in c)
    assert "by 1 person where the longest open span is 3 h (Ana" in clash
    assert (
        "by 2 people where the longest open span is 3 h (Ana, Bo, Mon 8 Feb 2027"
        in clash
    )
    assert "a lap shows" in clash
    helps = [h for h in error.helps if "Colour coat 1" in h]
    assert any("longer shift" in h and "without a break for 2" in h for h in helps)
    assert any("bigger team: 4 (painter, finisher, labourer)" in h for h in helps)
    assert error.exit_status == 1


def test_colour_is_refused_before_the_search(tmp_path):
    """The command gives the reason, whatever the search would have found."""
    path = job_file(tmp_path, crew("08:00-11:00", "20 m"))
    with pytest.raises(NoPlanError, match="no open span"):
        plan_of(path, 0.01)


def test_a_span_later_in_the_year_is_found(tmp_path):
    """The short grid holds no span, the longest one does: nothing is refused."""
    text = crew("08:00-11:00", "20 m")
    long = problem(tmp_path, crew("07:00-19:00", "20 m"))
    refuse(problem(tmp_path, text), lambda: long)


def test_primer_too_long_for_a_shift_may_go_bay_by_bay(tmp_path):
    corner = changed(
        crew("07:00-09:00", "8 m"),
        ('length = "8 m"', 'length = "8 m"\nmeets = "side"'),
        ('[[crew]]\nname = "Ana"', '[[stage.run]]\nname = "side"\nlength = "8 m"\n'
         '[[crew]]\nname = "Ana"'),
    )  # fmt: skip
    error = refusal(tmp_path, corner)
    assert any('primer_in = "bays"' in h for h in error.helps)
    split = changed(corner, ("[stage]", '[methods]\nprimer_in = "bays"\n[stage]'))
    assert not any("Primer" in c for c in refusal(tmp_path, split).conflict)


def test_two_runs_that_do_not_meet_are_two_bays_to_prime(tmp_path):
    two = changed(
        crew("07:00-09:00", "8 m"),
        ('[[crew]]\nname = "Ana"', '[[stage.run]]\nname = "side"\nlength = "8 m"\n'
         '[[crew]]\nname = "Ana"'),
    )  # fmt: skip
    error = refusal(tmp_path, two)
    assert any('primer_in = "bays"' in h for h in error.helps)
    one = refusal(tmp_path, crew("07:00-09:00", "16 m"))
    assert any("Primer" in c for c in one.conflict)
    assert not any('primer_in = "bays"' in h for h in one.helps)


def test_a_booking_shortens_the_span(tmp_path):
    calendar = tmp_path / "booked.ics"
    calendar.write_text(
        "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//tests//EN\r\nBEGIN:VEVENT\r\n"
        "UID:a@tests\r\nDTSTAMP:20270101T000000Z\r\nDTSTART:20270208T093000\r\n"
        "DTEND:20270208T103000\r\nRRULE:FREQ=DAILY;COUNT=60\r\n"
        "SUMMARY:shoot\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n",
        newline="",
    )  # 09:30 to 10:30 at the site, every day, across the change to summer time
    text = crew("07:00-12:00")
    free = problem(tmp_path, text)
    refuse(free, lambda: free)
    booked = changed(text, ("[stage]", '[stage]\nbookings = ["booked.ics"]'))
    error = refusal(tmp_path, booked)
    assert "the longest open span is 2 h 30 min" in error.conflict[0]


def test_any_team_whose_span_is_long_enough_will_do(tmp_path):
    """Ana's shifts are too short for colour; Bo and Cy, painters too, work all day."""
    first, ana, bo = crew("08:00-10:00").split("[[crew]]")
    long = bo.replace("08:00-10:00", "07:00-19:00")
    cy = long.replace('"Bo"', '"Cy"')
    fits = problem(tmp_path, "[[crew]]".join((first, ana, long, cy)))
    colour = next(t for t in fits.instance.tasks if t.id == "colour-1")
    assert colour.leads == ("ana", "bo", "cy")
    longest = [_longest(fits, colour, mode) for mode in colour.modes[:2]]
    # alone nobody's twelve hours is beaten, and two are Bo and Cy
    assert [x.team for x in longest] == [("bo",), ("bo", "cy")]
    assert [x.ticks for x in longest] == [48, 48]
    said = " ".join(c for c in _conflict(fits) if "Colour" in c)
    assert said == ""


def _conflict(made) -> tuple[str, ...]:
    try:
        refuse(made, lambda: made)
    except NoPlanError as error:
        return error.conflict
    return ()


def test_a_team_is_open_while_all_of_it_is(tmp_path):
    hours = [Spans(((0, 10),)), Spans(((2, 12),)), Spans(((4, 6), (8, 20)))]
    assert _common(hours).items == ((4, 6), (8, 10))
    assert _common(hours[:1]) == hours[0]


def test_one_alone_is_told_how_large_a_team_would_have_to_be(tmp_path):
    """Colour takes teams of up to four; Ana is alone, and for a short while a day."""
    alone = crew("08:00-08:30")
    alone = alone[: alone.rindex("[[crew]]")]
    helps = [h for h in refusal(tmp_path, alone).helps if "Colour coat 1" in h]
    assert any("a bigger team: 4 (" in h and h.endswith("with it") for h in helps)
    assert any("without a break for 1 at once" in h for h in helps)


# --------------------------------------------------------- what is pausable


def test_colour_is_one_go_and_fastening_may_stop_between_two_beads(tmp_path):
    assert task(tmp_path, "colour-1").pace is Pace.ONE_GO
    assert task(tmp_path, "fasten.wall").pace is Pace.PAUSABLE


def test_the_chance_of_a_touch_up_is_kept_with_the_check(tmp_path):
    assert task(tmp_path, "shadow").touch_up_frac == 0.15  # from memory
    assert task(tmp_path, "colour-1").touch_up_frac == 0.0


# ---------------------------------------------------------- the crew's own hours


OWN = """[[labour]]
work = "open"
hours = "6 min"
per = "1 ft"
set_up = "15 min"
source = "our last three walls"

[[labour]]
work = "set"
hours = "1 h"
per = "2 modules"

[[labour]]
work = "prime"
set_up = "1 h"

[stage]"""


def test_the_crews_own_hours_come_before_the_datas(tmp_path):
    own = ("[stage]", OWN)
    wall = task(tmp_path, "open.wall", STRAIGHT, own)
    theirs = task(tmp_path, "open.wall")
    # By hand: a foot in 0.1 h is 0.1 / 0.3048 h a metre; a quarter of an hour a day.
    opened_m = theirs.person_hours / 0.09
    assert wall.person_hours == pytest.approx(opened_m * 0.1 / 0.3048)
    assert (wall.set_up_h, theirs.set_up_h) == (0.25, 0.25)
    assert wall.source == "our last three walls"
    # Five modules, two an hour, and a quarter of an hour of the data's setting up.
    modules = task(tmp_path, "set.wall", STRAIGHT, own)
    assert modules.person_hours == pytest.approx(2.5)
    assert modules.set_up_h == 0.25
    # Of the primer, setting up alone: an hour for three quarters of one.
    own_primer, primer = (
        task(tmp_path, "prime-1", STRAIGHT, own), task(tmp_path, "prime-1")
    )  # fmt: skip
    assert own_primer.person_hours == primer.person_hours
    assert (own_primer.set_up_h, primer.set_up_h) == (1.0, 0.75)


def test_other_work_keeps_its_hours(tmp_path):
    def hours(text: str) -> dict[str, float]:
        job = read_job(job_file(tmp_path, text))
        made = work(job, take_off(job, ids=("wall",)), materials.load())
        return {t.id: t.person_hours + t.set_up_h for t in made.tasks}

    own, data = hours(changed(STRAIGHT, ("[stage]", OWN))), hours(STRAIGHT)
    assert {k for k in own if own[k] != data[k]} == {
        "open.wall", "set.wall", "prime-1", "prime-2"
    }  # fmt: skip

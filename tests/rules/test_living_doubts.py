"""What can't be as it was logged is doubted, and what nobody logged never is.

Tests of planner/living/doubts.py, planner/living/known.py.
"""

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from planner.files.job.jobfile import read_job
from planner.files.logbook.lines import with_id
from planner.living.doubts import doubts, doubts_of
from planner.living.known import Known, KnownTask, known_of
from planner.nouns.happened import Happening, Logbook, What
from tests.support.values import STRAIGHT, job_file, work_of

ZONE = ZoneInfo("America/Halifax")
NINE = datetime(2027, 2, 16, 9, 0, tzinfo=ZONE)
KNOWN = Known(
    zone=ZONE,
    earliest=date(2027, 2, 8),
    tasks={
        "mill:coat-1": KnownTask(title="Coat 1", product="filler"),
        "mill:coat-2": KnownTask(
            title="Coat 2", product="filler", over=("mill:coat-1",)
        ),
        "mill:sand": KnownTask(title="Sand", product=None),
    },
    bays=("mill:wall",),
    people={"ana": "Ana", "bo": "Bo"},
)


def event(what: str, about: str = "", hour: float = 0.0, **fields) -> Happening:
    at = NINE + timedelta(hours=hour)
    logged = fields.pop("logged", at)
    fields = {"at": at, "logged": logged, "about": about, **fields}
    return with_id(Happening(id="", what=What(what), **fields))


COAT, NEXT = "mill:coat-1", "mill:coat-2"


@pytest.mark.parametrize(
    ("before", "now", "why"),
    [
        ([("begun", COAT, 0)], ("done", COAT, 2), None),
        ([], ("done", COAT, 2), None),  # nobody logged its begin
        ([("begun", COAT, 2)], ("done", COAT, 1), "begun Tue 16 Feb 2027, 11:00, not"),
        ([("begun", COAT, 2)], ("done", COAT, 2), "not before"),
        ([("begun", COAT, 0)], ("begun", COAT, 1), "begun Tue 16 Feb 2027, 09:00 alr"),
        ([("done", COAT, 0)], ("begun", COAT, 1), "done Tue 16 Feb 2027, 09:00 alr"),
        ([("done", COAT, 2)], ("begun", COAT, 1), None),  # its begin is logged late
        ([("done", COAT, 0)], ("done", COAT, 1), "already"),
        ([("done", COAT, 0)], ("stopped", COAT, 1), "already"),
        ([("begun", COAT, 0)], ("waiting", COAT, 1), "it was begun"),
        ([("done", COAT, 0)], ("wet", COAT, 1), None),
        ([("done", COAT, 2)], ("wet", COAT, 1), "not before"),
        ([("begun", COAT, 0)], ("dry", COAT, 1), "isn't logged as done"),
        ([("begun", COAT, 0), ("done", COAT, 1)], ("dry", COAT, 2), None),
        ([], ("dry", "mill:sand", 1), "nothing that could dry"),
        ([], ("dry", "mill:gone", 1), None),  # what it lays isn't known any more
        ([("wet", COAT, 0)], ("begun", NEXT, 1), '"Coat 1" below it was found wet'),
        ([("wet", COAT, 0)], ("done", NEXT, 1), "hasn't been found dry"),
        ([("wet", COAT, 0), ("dry", COAT, 1)], ("begun", NEXT, 1), None),
        ([("dry", COAT, 0), ("wet", COAT, 1)], ("begun", NEXT, 2), "found wet"),
        ([("wet", COAT, 2)], ("begun", NEXT, 1), None),  # it was begun before that
        ([("wet", COAT, 0)], ("begun", "mill:sand", 1), None),
    ],
)
def test_the_order_of_what_was_logged(before, now, why):
    found = doubts(event(*now), [event(*b) for b in before], KNOWN)
    if why is None:
        assert found == ()
    else:
        assert len(found) == 1
        assert why in found[0]


def test_crates_that_were_opened_are_not_late():
    late = event("late", hour=2, until=NINE + timedelta(days=1))
    opened = event("done", "mill:intake", 1)
    assert doubts(late, [], KNOWN) == ()
    assert doubts(late, [event("waiting", "mill:intake", 1)], KNOWN) == ()
    (why,) = doubts(late, [opened], KNOWN)
    assert why == "the crates were opened Tue 16 Feb 2027, 10:00 already"


def test_a_joint_cannot_show_where_none_is_taped(tmp_path):
    job = read_job(job_file(tmp_path))
    known = known_of(job, work_of(tmp_path))

    def doubted(bay):
        return doubts(event("shows", f"the-stage:{bay}"), [], known)

    assert doubted("wall") == ()
    assert doubted("apron") == ("no joint is taped in apron",)


@pytest.mark.parametrize(("minutes", "doubted"), [(0, False), (5, False), (6, True)])
def test_what_is_to_come_hasnt_happened(minutes, doubted):
    later = event("begun", COAT, 1, logged=NINE + timedelta(minutes=60 - minutes))
    found = doubts(later, [], KNOWN)
    assert found == (("Tue 16 Feb 2027, 10:00 is still to come",) if doubted else ())


@pytest.mark.parametrize(("day", "doubted"), [(7, True), (8, False)])
def test_nothing_happens_before_the_earliest_day(day, doubted):
    early = event("begun", COAT, at=datetime(2027, 2, day, 8, 0, tzinfo=ZONE))
    found = doubts(early, [], KNOWN)
    assert bool(found) is doubted
    if doubted:
        assert "before the job's earliest day, Mon 8 Feb 2027" in found[0]


def test_what_is_heard_of_may_be_heard_before_the_earliest_day():
    early = datetime(2027, 1, 7, 8, 0, tzinfo=ZONE)
    away = event("away", "bo", at=early, start=NINE, until=NINE + timedelta(hours=2))
    assert doubts(away, [], KNOWN) == ()


@pytest.mark.parametrize(
    ("hour", "by", "doubted"),
    [(1, "ana", True), (0, "ana", True), (2, "ana", False), (1, "bo", False)],
)
def test_who_is_away_does_nothing(hour, by, doubted):
    away = event("away", "ana", start=NINE, until=NINE + timedelta(hours=2))
    found = doubts(event("done", COAT, hour, by=(by,)), [away], KNOWN)
    assert bool(found) is doubted
    assert not doubted or "Ana was logged away" in found[0]


def test_a_kept_event_is_doubted_ever_after_and_an_undone_one_doubts_nothing():
    wet = event("wet", COAT, 0)
    kept = event("begun", NEXT, 1)
    book = Logbook(events=(wet, kept))
    assert list(doubts_of(book, KNOWN)) == [kept.id]
    undo = event("undo", wet.id, 2)
    assert doubts_of(Logbook(events=(wet, kept, undo)), KNOWN) == {}


@pytest.mark.parametrize(
    ("what", "said", "meant"),
    [
        ("done", "coat-1", "mill:coat-1"),
        ("done", "mill:coat-1", "mill:coat-1"),
        ("done", "Coat-1", "mill:coat-1"),
        ("done", "wall", None),
        ("shows", "Wall", "mill:wall"),
        ("shows", "coat-1", None),
        ("away", "ANA", "ana"),
        ("away", "bo", "bo"),
        ("away", "cy", None),
    ],
)
def test_names_are_those_of_the_kind(what, said, meant):
    assert KNOWN.meant(What(what), said) == meant


@pytest.mark.parametrize(
    ("what", "about", "gone"),
    [
        ("done", "mill:coat-3", True),
        ("done", "mill:coat-1", False),
        ("shows", "mill:east", True),
        ("note", "", False),
        ("air", "", False),
    ],
)
def test_what_the_job_has_no_longer_is_gone(what, about, gone):
    air = {"air_c": 18.0, "humidity_pct": 50.0} if what == "air" else {}
    assert KNOWN.is_gone(event(what, about, **air)) is gone


def test_a_coat_goes_over_those_whose_hardening_it_waits_for(tmp_path):
    work = work_of(tmp_path)
    from planner.files.job.jobfile import read_job

    known = known_of(read_job(job_file(tmp_path, STRAIGHT)), work)
    stage = next(iter(known.tasks)).partition(":")[0]
    second = known.tasks[f"{stage}:prime-2"]
    assert f"{stage}:prime-1" in second.over
    assert f"{stage}:wipe" not in second.over
    assert set(second.over) <= set(second.after)
    assert f"{stage}:wipe" in known.tasks[f"{stage}:prime-1"].after
    assert known.people == {"ana": "Ana", "bo": "Bo"}

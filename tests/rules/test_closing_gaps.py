"""Which gaps are planned, in which order, and which are ruled out: without planning.

Tests of planner/usecases/comparing/closures.py, planner/planning/least_return.py.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from random import Random

import pytest

from planner.nouns.case import Case, ClosureWindow
from planner.nouns.choices.closures import ClosureOption
from planner.nouns.choices.comparison import Alternative, BackBy, Figures
from planner.nouns.inputs import Inputs
from planner.nouns.work import ReturnKind
from planner.planning.answering import answer
from planner.planning.least_return import least_return
from planner.planning.posing import posed
from planner.planning.searching import Search
from planner.schedule.check.verify import verify
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.limits import SearchLimits
from planner.schedule.problem.parts import Activity, LinkKind
from planner.usecases.comparing.attempts import Attempt
from planner.usecases.comparing.closures import Choosing, ClosuresRequest
from planner.usecases.comparing.gaps import gaps_to_look_at
from planner.usecases.comparing.side_by_side import Together
from planner.usecases.read import Papers
from tests.support.side_by_side import SMALL
from tests.support.values import changed, job_file

DAY = timedelta(days=1)
UNTIL = date(2027, 3, 31)


def entry(title: str, first: str, last: str, more: str = "") -> str:
    """Return an all-day booking, the last day excluded."""
    return (
        f"BEGIN:VEVENT\r\nUID:{title}@demo.example\r\nDTSTAMP:20270101T000000Z\r\n"
        f"SUMMARY:{title}\r\nDTSTART;VALUE=DATE:{first}\r\nDTEND;VALUE=DATE:{last}\r\n"
        f"{more}END:VEVENT\r\n"
    )


MAYBE = "STATUS:TENTATIVE\r\n"
ENTRIES = (
    entry("First", "20270210", "20270215"),
    entry("Maybe", "20270302", "20270304", MAYBE),
    entry("Perhaps", "20270306", "20270308", MAYBE),
    entry("Last", "20270325", "20270327"),
)


def job(folder: Path, entries: Sequence[str] = ENTRIES, more: str = "") -> Path:
    head = "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//test//EN\r\n"
    text = head + "".join(entries) + "END:VCALENDAR\r\n"
    (folder / "stage.ics").write_bytes(text.encode())
    said = changed(
        SMALL,
        ('apron = "0 m"', 'apron = "0 m"\nbookings = ["stage.ics"]'),
        ("earliest =", f"{more}\nearliest ="),
    )
    return job_file(folder, said)


class Pretend(Together):
    """Makes up what becomes of an attempt, and notes which were asked for."""

    def __init__(
        self, lasts: Callable[[Attempt], timedelta | None], count: int = 99
    ) -> None:
        self.lasts, self.left = lasts, count
        self.asked: list[tuple[date, date | None]] = []

    def stopped(self) -> bool:
        return self.left <= 0

    def all(self, attempts: Sequence[Attempt]) -> Iterator[tuple[int, Alternative]]:
        for number, one in enumerate(attempts[: self.left]):
            self.left -= 1
            start, last = one.window.not_before, one.window.not_after
            assert start is not None
            zone = one.inputs.job.zone
            self.asked.append(
                (
                    start.astimezone(zone).date(),
                    last.astimezone(zone).date() if last else None,
                )
            )
            long = self.lasts(one)
            yield number, made_up(one, start, long)


def made_up(one: Attempt, start: datetime, long: timedelta | None) -> Alternative:
    if long is None:
        return Alternative(title=one.title, changes=(), figures=None, why="none")
    end = start + long
    full = BackBy(kind=ReturnKind.FULL_SERVICE, planned=end, kept=end + 2 * DAY)
    figures = Figures(
        closure=(start, end), returns=(full,), stage_cost=None, labour_cost=None,
        binds=(), minutes=(), proven=True,
    )  # fmt: skip
    return Alternative(title=one.title, changes=one.changes, figures=figures)


def planned(
    path: Path, lasts: Callable[[Attempt], timedelta | None], count: int = 99
) -> tuple[Choosing, Pretend, list[ClosureOption]]:
    made = Choosing(ClosuresRequest(job=path, until=UNTIL), Papers(path))
    together, told = Pretend(lasts, count), list[ClosureOption]()
    made.plan(together, told.append)
    return made, together, told


def test_of_gaps_that_begin_together_the_one_that_moves_least_is_planned(tmp_path):
    """From 15 Feb on the gap to 2 Mar holds the work, so nothing has to move."""
    made, together, _ = planned(job(tmp_path), lambda _: 13 * DAY)
    assert (date(2027, 2, 15), date(2027, 3, 2)) in together.asked
    assert not [a for a in together.asked if a[0] == date(2027, 2, 15)][1:]
    assert made.choices().not_reached == 0
    moved = [o for o in made.choices().options if o.gap.moving]
    assert not any(o.gap.start.date() == date(2027, 2, 15) for o in moved)


def timed(title: str, first: datetime, last: datetime) -> str:
    """Return a booking from one moment to another."""
    start, end = (f"{t.astimezone(UTC):%Y%m%dT%H%M%SZ}" for t in (first, last))
    made = entry(title, "20270210", "20270215")
    return made.replace(";VALUE=DATE:20270210", f":{start}").replace(
        ";VALUE=DATE:20270215", f":{end}"
    )


def test_a_gap_that_ends_with_the_least_return_is_planned_and_one_tick_less_isnt(
    tmp_path,
):
    """What is too short by a quarter of an hour is told as too short, without a plan."""
    made, _, _ = planned(job(tmp_path, ENTRIES[:1]), lambda _: 13 * DAY)
    least = next(o.needs_until for o in made.choices().options if o.gap.start.day == 15)
    assert least is not None
    for less, short in ((timedelta(), False), (timedelta(minutes=15), True)):
        late = timed("Late", least - less, least + 90 * DAY)
        made, together, _ = planned(
            job(tmp_path, (ENTRIES[0], late)), lambda _: 13 * DAY
        )
        (gap,) = (o for o in made.choices().options if o.gap.start.day == 15)
        assert gap.too_short == short
        assert (date(2027, 2, 15) in [start for start, _ in together.asked]) != short


def test_a_wider_gap_is_planned_once_the_narrower_one_held_nothing(tmp_path):
    def lasts(one: Attempt) -> timedelta | None:
        start, last = one.window.not_before, one.window.not_after
        assert start is not None
        wide = last is None or last - start > 20 * DAY
        return 13 * DAY if wide else None

    made, together, _ = planned(job(tmp_path), lasts)
    ends = [end for start, end in together.asked if start == date(2027, 2, 15)]
    assert ends == [date(2027, 3, 2), date(2027, 3, 6), date(2027, 3, 25)]
    (held,) = [
        o
        for o in made.choices().options
        if o.figures and o.gap.start.date() == date(2027, 2, 15)
    ]
    assert [b.title for b in held.gap.moving] == ["Maybe", "Perhaps"]
    assert {'"Maybe" (stage.ics) moves', '"Perhaps" (stage.ics) moves'} <= {
        w for o in made.choices().options for w in o.moved
    } | set(held.moved)


def test_a_booking_that_moves_is_not_there_for_the_plan(tmp_path):
    seen: dict[tuple[str, ...], int] = {}

    def lasts(one: Attempt) -> timedelta | None:
        titles = tuple(b.title for b in one.inputs.hours.bookings)
        seen[titles] = seen.get(titles, 0) + 1
        return None

    planned(job(tmp_path), lasts)
    assert ("First", "Maybe", "Perhaps", "Last") in seen
    assert ("First", "Last") in seen


def test_gaps_too_late_for_the_wish_are_not_planned_where_one_keeps_it(tmp_path):
    path = job(tmp_path, more="back_by = 2027-03-05")
    made, together, told = planned(path, lambda _: 13 * DAY)
    assert {start for start, _ in together.asked} == {date(2027, 2, 15)}
    late = [o for o in made.choices().options if o.too_late]
    assert late
    assert all(o.needs_until and o.needs_until.date() > date(2027, 3, 5) for o in late)
    assert [o for o in told if o.too_late] == late


def test_where_nothing_keeps_the_wish_the_late_ones_are_planned_too(tmp_path):
    path = job(tmp_path, more="back_by = 2027-02-25")
    made, together, _ = planned(path, lambda _: 13 * DAY)
    assert len({start for start, _ in together.asked}) > 1
    assert not any(o.too_late for o in made.choices().options)


def test_no_gap_begins_before_the_stage_may_be_closed(tmp_path):
    path = job(tmp_path, more="close_from = 2027-02-20")
    made, together, _ = planned(path, lambda _: 13 * DAY)
    assert min(start for start, _ in together.asked) >= date(2027, 2, 20)
    assert made.since.date() == date(2027, 2, 20)


def test_stopped_it_shows_what_it_has_and_counts_the_rest(tmp_path):
    made, together, _ = planned(job(tmp_path), lambda _: 13 * DAY, count=1)
    assert len(together.asked) == 1
    found = made.choices()
    assert sum(o.figures is not None for o in found.options) == 1
    assert found.not_reached >= 1
    assert not found.whole


@pytest.mark.parametrize("seed", range(5))
def test_the_order_of_the_file_changes_nothing(tmp_path, seed):
    r = Random(seed)
    shuffled = list(ENTRIES)
    r.shuffle(shuffled)
    for name in ("one", "two"):
        (tmp_path / name).mkdir()
    one = Choosing(
        ClosuresRequest(job=job(tmp_path / "one"), until=UNTIL),
        Papers(tmp_path / "one" / "job.toml"),
    )
    two = Choosing(
        ClosuresRequest(job=job(tmp_path / "two", shuffled), until=UNTIL),
        Papers(tmp_path / "two" / "job.toml"),
    )
    assert one.gaps == two.gaps
    bookings = list(one.inputs.hours.bookings)
    r.shuffle(bookings)
    assert gaps_to_look_at(bookings, one.since, one.until) == one.gaps


# ------------------------------------------- too short, by reasons of the test's own


def soonest(instance: Instance, begin: int) -> int:
    """Return a tick before which no plan can return, by its links alone.

    Each task takes the open hours of whoever may do it, all at once, and no less than
    its fastest team needs; nobody is ever busy elsewhere. None of the engine is used.
    """
    over = {x.name: x.over for x in instance.lookups}
    on_stage = {t for c in instance.closures for t in c.tasks}
    starts: dict[str, int] = {}
    ends: dict[str, int] = {}
    left = {t.id: t for t in instance.tasks if not t.optional}
    while left:
        for task in list(left.values()):
            links = [
                k
                for k in instance.links
                if k.after == task.id and k.kind is not LinkKind.LATEST
            ]
            if any(k.before in left for k in links):
                continue
            at = begin if task.id in on_stage else 0
            for link in links:
                if link.before in ends:
                    before = ends if link.kind is LinkKind.FINISH_START else starts
                    tick = before[link.before]
                    at = max(at, over[link.wait][tick] if link.wait else tick)
            starts[task.id], ends[task.id] = worked(instance, task, at)
            del left[task.id]
    return max(
        over[t.wait][ends[t.task]] if t.wait else ends[t.task]
        for c in instance.closures
        for t in c.terms
        if t.task in ends
    )


def worked(instance: Instance, task: Activity, at: int) -> tuple[int, int]:
    """Return the first tick from `at` on at which somebody could begin, and its end."""
    need = min(m.ticks for m in task.modes)
    who = [p for p in instance.people if p.id in task.eligible]
    if not who:
        return at, at + need
    open_ = sorted({t for p in who for a, b in p.open for t in range(a, b) if t >= at})
    return open_[0], open_[need - 1] + 1


@pytest.fixture(scope="module")
def stage(tmp_path_factory) -> Inputs:
    """A stage on which nothing is booked."""
    return Papers(job(tmp_path_factory.mktemp("free"), ())).inputs()


def test_what_is_ruled_out_is_so_by_the_links_and_hours_of_the_work_alone(stage):
    """From any day on: a bound that shares nothing with the engine says the same.

    It is more than half as long as the engine's, so it rules out gaps of its own.
    """
    first = datetime.combine(stage.job.earliest, time(), tzinfo=stage.job.zone)
    for number in range(0, 14, 3):
        begin = first + number * DAY
        case = Case(inputs=stage, window=ClosureWindow(not_before=begin))
        problem = posed(case, weeks=6)
        tick = soonest(problem.instance, problem.grid.ceil(begin))
        plain, least = problem.grid.instant(tick), least_return(stage, begin)
        assert least is not None
        assert plain <= least
        assert plain - begin > (least - begin) / 2


@pytest.mark.slow
def test_the_checker_refuses_the_best_plan_in_a_gap_that_is_too_short(stage):
    first = datetime.combine(stage.job.earliest, time(), tzinfo=stage.job.zone)
    for number in (0, 4):
        begin = first + number * DAY
        least = least_return(stage, begin)
        assert least is not None
        free = Case(inputs=stage, window=ClosureWindow(not_before=begin))
        best = answer(free, Search(limits=SearchLimits(), explain=False))
        assert best.aims[0].value == best.aims[0].bound  # no plan returns earlier
        end = least - timedelta(minutes=stage.job.tick_minutes)
        short = ClosureWindow(not_before=begin, not_after=end)
        weeks = len(best.grid.days()) // 7
        problem = posed(replace(free, window=short), weeks=weeks)
        assert verify(posed(free, weeks=weeks).instance, best.placements) == ()
        assert verify(problem.instance, best.placements)

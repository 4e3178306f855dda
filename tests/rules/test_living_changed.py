"""Who is told what when one plan takes the place of another.

Tests of planner/living/changed.py, planner/nouns/living/changed.py,
planner/report/living/note_paths.py, planner/report/living/notes.py,
planner/report/living/revised_text.py,
planner/usecases/living/telling.py.
"""

from dataclasses import replace
from datetime import timedelta
from html.parser import HTMLParser
from zoneinfo import ZoneInfo

import pytest

from planner.living.changed import changes
from planner.nouns.calendar import Busy
from planner.nouns.work import ReturnKind
from planner.report.living.note_paths import note_paths
from planner.report.living.notes import (
    News,
    note_files,
    note_page,
    note_text,
    notes,
)
from planner.report.living.revised_text import revised_text
from planner.units import moment_words
from planner.usecases.living.telling import told_words
from tests.support.plans import changed, made_plan

DAY = timedelta(days=1)
HOUR = timedelta(hours=1)
PLAN = made_plan()
ZONE = ZoneInfo(PLAN.zone)
TASKS = sorted(PLAN.tasks, key=lambda t: (t.start, t.id))
LATE = TASKS[-2]  # with much before it
BEFORE = TASKS[0].start - HOUR  # a moment before all work


def moved(plan, task, by):
    """Return a plan with one task later."""
    put = replace(
        task,
        start=task.start + by,
        end=task.end + by,
        spans=tuple((a + by, b + by) for a, b in task.spans),
    )
    return changed(plan, tasks=tuple(put if t.id == task.id else t for t in plan.tasks))


def with_team(plan, task, team):
    put = replace(task, team=team)
    return changed(plan, tasks=tuple(put if t.id == task.id else t for t in plan.tasks))


def news(after, *, before=PLAN, now=BEFORE, why=(), unkept=()):
    people = changes(before, after, now=now)
    return News(
        before=before, after=after, now=now, people=people, why=why, unkept=unkept
    )


def texts(found):
    return {n.path.removeprefix("changes/"): note_text(n) for n in notes(found)}


# --------------------------------------------------------------- who is told


def test_nobody_is_told_when_nothing_changes():
    same = news(PLAN)
    assert notes(same) == ()
    assert note_files(notes(same)) == {}
    assert told_words(same) == ""


def test_only_those_who_are_at_a_moved_task_are_told_and_the_manager():
    told = texts(news(moved(PLAN, LATE, DAY)))
    assert set(told) == {*(f"people/{p}" for p in LATE.team), "manager"}
    assert len(LATE.team) < len(PLAN.crew)  # somebody is spared


def test_of_the_past_nobody_is_told():
    first = TASKS[0]
    assert first.end < LATE.start
    after = moved(PLAN, first, -HOUR)
    assert changes(PLAN, after, now=first.end) == ()
    assert changes(PLAN, after, now=BEFORE - DAY) != ()


def test_of_a_task_under_way_only_what_is_to_come_counts():
    task = next(t for t in TASKS if len(t.spans) == 1)
    start, end = task.spans[0]
    now = start + (end - start) / 2
    earlier = replace(task, start=start - HOUR, spans=((start - HOUR, end),))
    begun = changed(
        PLAN, tasks=tuple(earlier if t.id == task.id else t for t in PLAN.tasks)
    )
    assert changes(PLAN, begun, now=now) == ()
    longer = replace(task, end=end + HOUR, spans=((start, end + HOUR),))
    after = changed(
        PLAN, tasks=tuple(longer if t.id == task.id else t for t in PLAN.tasks)
    )
    one = changes(PLAN, after, now=now)[0].tasks[0]
    assert (one.before, one.after) == (((now, end),), ((now, end + HOUR),))


def test_of_each_task_it_is_known_whether_it_is_done():
    """Each task in its turn is done, and somebody else's from now on."""
    for task in PLAN.tasks:
        if not task.team:
            continue
        put = replace(task, team=("cy",), happened="done")
        after = changed(
            PLAN, tasks=tuple(put if t.id == task.id else t for t in PLAN.tasks)
        )
        told = [t for p in changes(PLAN, after, now=BEFORE) for t in p.tasks]
        assert {t.is_done for t in told if t.id == task.id} == {True}
        assert not any(t.is_done for t in told if t.id != task.id)


# ------------------------------------------------------------ what one is told


def test_a_moved_task_is_told_with_its_times_now_and_before():
    after = moved(PLAN, LATE, DAY)
    text = texts(news(after))[f"people/{LATE.team[0]}"]
    flat = " ".join(text.split())
    start, end = LATE.spans[0]
    now, was = moment_words(start + DAY, ZONE), moment_words(start, ZONE)
    assert f"({LATE.id.partition(':')[2]}): {now} to " in flat
    assert f", not {was} to {moment_words(end, ZONE)[-5:]}" in flat


def test_who_is_no_more_of_a_team_is_told_so_and_the_others_who_comes_instead():
    gone, stays, new = (*(p.id for p in PLAN.crew), "cy")
    third = replace(PLAN.crew[0], id=new, name="Cy")
    crew = changed(PLAN, crew=(*PLAN.crew, third))
    before = with_team(crew, LATE, (gone, stays))
    task = next(t for t in before.tasks if t.id == LATE.id)
    names = {p.id: p.name for p in crew.crew}
    told = {
        who: " ".join(text.split())
        for who, text in texts(
            news(with_team(before, task, tuple(sorted((stays, new)))), before=before)
        ).items()
    }
    assert "not yours any more (was " in told[f"people/{gone}"]
    assert f"with {names[new]} instead of {names[gone]}" in told[f"people/{stays}"]
    assert f"with {names[stays]}" in told[f"people/{new}"]
    assert "new for you, " in told[f"people/{new}"]
    # whoever stays isn't told of days, which are the same
    assert "Days" not in told[f"people/{stays}"]


def test_what_was_done_sooner_is_told_as_done():
    task = LATE
    done = replace(task, happened="done", spans=((BEFORE - HOUR, BEFORE),))
    after = changed(
        PLAN, tasks=tuple(done if t.id == task.id else t for t in PLAN.tasks)
    )
    text = texts(news(after))[f"people/{task.team[0]}"]
    assert "it is done (was " in " ".join(text.split())


def test_days_to_come_and_not_to_come_are_told():
    """A person whose only work of a day goes isn't called on that day."""
    alone = next(
        (t, p)
        for t in reversed(TASKS)
        for p in t.team
        if {a.astimezone(ZONE).date() for a, _ in t.spans}.isdisjoint(
            a.astimezone(ZONE).date()
            for o in TASKS
            if o.id != t.id and p in o.team
            for a, _ in o.spans
        )
    )
    task, person = alone
    text = texts(news(moved(PLAN, task, 40 * DAY)))[f"people/{person}"]
    assert f"Don't come on {moment_words(task.start, ZONE)[:-7]}" in text
    assert f"Come also on {moment_words(task.start + 40 * DAY, ZONE)[:-7]}" in text


# ------------------------------------------------------- the manager and the owner


def returning_later(plan, by):
    stage = plan.stage
    later = tuple(
        replace(
            r,
            when=r.when + by,
            promise=r.promise and r.promise + by,
            tentative_until=None,
        )
        for r in stage.returns
    )
    return changed(plan, returns=later)


def test_the_owner_is_told_the_promise_and_what_the_new_plan_knows():
    after = returning_later(PLAN, 2 * DAY)
    told = texts(news(after, why=("Hedda was away",)))
    assert set(told) == {"manager", "owner"}
    old, new = (p.stage.returning(ReturnKind.FULL_SERVICE) for p in (PLAN, after))
    assert old.promise
    assert new.promise
    flat = " ".join(told["owner"].split())
    assert (
        f"Full service in 8 of 10 cases: {moment_words(new.promise, ZONE)}, not "
        f"{moment_words(old.promise, ZONE)}" in flat
    )
    assert f"{moment_words(new.when, ZONE)}, 2 days later" in flat
    assert "What the earlier plan didn't know Hedda was away" in flat


def test_the_owner_is_told_what_moved_the_promise_and_by_how_much():
    after = returning_later(PLAN, 2 * DAY)
    moved = replace(news(after), causes=(("who is away", 1500), ("quiet hours", -60)))
    for who in ("owner", "manager"):
        flat = " ".join(texts(moved)[who].split())
        assert "1 day 1 h later for who is away" in flat
        assert "1 h sooner for quiet hours" in flat
        # later by 2 days in all
        assert "the rest, 1 day later, for how the work has gone" in flat
    more = replace(moved, causes=(("who is away", 4320),))
    assert "the rest, 1 day sooner, for how" in " ".join(texts(more)["owner"].split())
    alone = replace(moved, causes=(("who is away", 2880),))
    assert "the rest" not in texts(alone)["owner"]
    put_back = replace(moved, is_revised=False)
    assert "What moved the promise" not in texts(put_back)["owner"]


def test_a_booking_that_no_longer_fits_is_told_to_manager_and_owner():
    back = promise_of(PLAN)
    shoot = Busy(
        start=back - DAY,
        end=back - DAY + HOUR,
        kind="busy",
        title="a shoot",
        file="b.ics",
        uid="1",
    )
    told = texts(news(PLAN, unkept=(shoot,)))
    for who in ("owner", "manager"):
        flat = " ".join(told[who].split())
        assert f'"a shoot" (b.ics), {moment_words(shoot.start, ZONE)}' in flat
        assert f"closed until {moment_words(back, ZONE)}" in flat


def closed(plan, start, end):
    return changed(plan, stages=(replace(plan.stage, closure=(start, end)),))


def flat(text):
    return " ".join(text.split())


def promise_of(plan):
    promise = plan.stage.returning(ReturnKind.FULL_SERVICE).promise
    assert promise is not None
    return promise


def promised(plan, by):
    """The plan with its promise of full service moved, and nothing else."""
    new = promise_of(plan) + by
    returns = tuple(
        replace(r, promise=new) if r.kind is ReturnKind.FULL_SERVICE else r
        for r in plan.stage.returns
    )
    return changed(plan, stages=(replace(plan.stage, returns=returns),))


def test_a_closure_that_begins_or_ends_at_another_time_is_told():
    """Manager and owner, on paper and page, and who revises: old time and new.

    The closure ends when the stage is back as promised, as in the booking calendar: the
    working plan's own return moves nothing that is booked.
    """
    start, end = PLAN.stage.closure
    until = promise_of(PLAN)
    said = [moment_words(m, ZONE) for m in (start, until)]
    assert "Keep the stage clear" not in answered(closed(PLAN, start, end + HOUR))
    for by in (-HOUR, DAY):
        after = closed(PLAN, start + by, end)
        told = (
            f"Keep the stage clear from {moment_words(start + by, ZONE)}, not {said[0]}; "
            f"until {said[1]}, as before"
        )
        assert told in answered(after)
        written = {
            n: flat(d.decode()) for n, d in note_files(notes(news(after))).items()
        }
        assert set(written) == {
            f"changes/{w}.{e}" for w in ("manager", "owner") for e in ("txt", "html")
        }
        assert all(told in text for text in written.values())
        longer = answered(promised(PLAN, by))
        new = moment_words(until + by, ZONE)
        assert f"Keep the stage clear until {new}, not {said[1]}" in longer


def test_of_a_closure_that_has_begun_no_other_start_is_told():
    start, end = PLAN.stage.closure
    after = closed(PLAN, start - HOUR, end)
    assert notes(news(after, now=start)) == ()
    assert "Keep the stage clear" not in answered(after, now=start)
    begun_early = start - HOUR / 2  # the other plan would only begin then
    assert set(texts(news(after, now=begun_early))) == {"manager", "owner"}
    assert "Keep the stage clear" not in answered(PLAN)


def answered(after, *, now=BEFORE):
    """Return what a revision prints."""
    return flat(
        revised_text(
            PLAN, after, moved=(), unkept=(), taken=(), causes=(), taught=(),
            now=now, zone=ZONE,
        )
    )  # fmt: skip


def test_the_manager_is_told_of_money_and_of_what_has_to_be_there_on_another_day():
    supply = next(s for s in PLAN.supplies if s.on_site)
    assert supply.on_site
    other = replace(supply, on_site=supply.on_site + DAY)
    after = changed(
        PLAN,
        supplies=tuple(other if s.id == supply.id else s for s in PLAN.supplies),
        cost=replace(PLAN.cost, labour=1096.0),
    )
    before = changed(PLAN, cost=replace(PLAN.cost, labour=1000.0))
    told = texts(news(after, before=before))
    assert set(told) == {"manager"}
    flat = " ".join(told["manager"].split())
    assert "Labour: 1,096 CAD, 96 more" in flat
    assert f"{supply.title}: by " in flat


# ------------------------------------------------------------------- the files


def test_text_and_page_say_the_same_and_lie_where_they_are_looked_for():
    after = returning_later(moved(PLAN, LATE, DAY), DAY)
    found = notes(news(after, why=("<b>Hedda</b> & Bo",)))
    files = note_files(found)
    assert set(files) <= set(note_paths([p.id for p in PLAN.crew]))
    for note in found:
        page = note_page(note)
        read = _Text()
        read.feed(page)
        assert " ".join(read.words) == " ".join(
            f"{note.title} {note_text(note)}".split()
        ).replace("\N{NO-BREAK SPACE}", " ")
        assert "<script" not in page


class _Text(HTMLParser):
    """The words of a page, its style left out."""

    def __init__(self):
        super().__init__()
        self.words, self.skip = [], False

    def handle_starttag(self, tag, attrs):
        self.skip = tag == "style" or (self.skip and tag != "body")

    def handle_endtag(self, tag):
        self.skip = False if tag == "style" else self.skip

    def handle_data(self, data):
        if not self.skip:
            self.words += data.split()


@pytest.mark.parametrize("who", ["manager", "owner"])
def test_no_person_can_take_the_name_of_another_note(who):
    paths = note_paths([who])
    assert len(set(paths)) == len(paths) == 6

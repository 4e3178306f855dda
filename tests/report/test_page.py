"""The pages against the plan: every bay, wait and person with the plan's own times.

Tests of planner/report/charts/air_chart.py, planner/report/drawing/templating.py,
planner/report/network/draw.py, planner/report/page/crew.py,
planner/report/page/frame.py, planner/report/page/owner.py,
planner/report/page/reference.py, planner/report/page/spent.py,
planner/report/page/stage.py, planner/report/page/waits.py,
planner/report/words/coat_air.py, planner/report/words/dependencies.py.
"""

import re
import time
from dataclasses import replace
from datetime import datetime, timedelta
from html.parser import HTMLParser
from zoneinfo import ZoneInfo

import pytest

from planner.nouns.plan import ClosureShare, Taken
from planner.report.drawing.view import View
from planner.report.page.crew import crew_page
from planner.report.page.frame import PAGES
from planner.report.page.owner import plan_page
from planner.report.page.reference import reference_page
from planner.report.words.coat_air import limit_rows
from tests.support.plans import FIRST, HALIFAX, changed, local, made_plan

SECTIONS = {
    "plan.html": ["back", "stage", "spent"],
    "crew.html": ["days", "people", "board", "buying"],
    "dependencies.html": ["waits", "air", "checks"],
}
VOID = frozenset({"meta", "link", "br", "img", "input", "hr"})


class Read(HTMLParser):
    """Pages as what a reader gets: the words of each part, links, ids, and tags."""

    def __init__(self, *pages: bytes) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[tuple[str, str]] = []
        self.words: dict[str, list[str]] = {}
        self.ids: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        for page in pages:
            self.feed(page.decode())
        self.close()

    def handle_starttag(self, tag, attrs):
        found = dict(attrs)
        self.tags.append((tag, found))
        if found.get("id"):
            self.ids.append(str(found["id"]))
        if tag not in VOID:
            self.open.append((tag, str(found.get("id") or "")))

    def handle_startendtag(self, tag, attrs):
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.handle_endtag(tag)

    def handle_endtag(self, tag):
        while self.open and self.open.pop()[0] != tag:
            pass

    def handle_data(self, data):
        if any(tag in ("style", "script") for tag, _ in self.open):
            return
        for _, id_ in self.open:
            if id_:
                self.words.setdefault(id_, []).append(data)

    def part(self, id_: str) -> str:
        """The words of the element of an id, one space between any two."""
        return " ".join(" ".join(self.words[id_]).split())


YEAR = 2027


def said(moment: datetime) -> str:
    """A moment as the page must say it, worked out here and not by the page."""
    at = moment.astimezone(ZoneInfo("America/Halifax"))
    day = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")[at.weekday()]
    month = ("Jan", "Feb", "Mar", "Apr", "May", "Jun")[at.month - 1]
    assert at.year == YEAR  # which the page says at its head, and nowhere else
    return f"{day} {at.day} {month}, {at.hour:02d}:{at.minute:02d}"


PLAN = made_plan()


def pages_of(plan) -> dict[str, bytes]:
    """The three pages of a plan by their files."""
    return {
        "plan.html": plan_page(plan),
        "crew.html": crew_page(plan),
        "dependencies.html": reference_page(plan),
    }


@pytest.fixture(scope="module")
def page() -> Read:
    """What the readers of all three get."""
    return Read(*pages_of(PLAN).values())


def test_each_reader_has_a_page_and_its_parts_stand_in_order():
    assert [p.file for p in PAGES] == list(SECTIONS)
    for file, made in pages_of(PLAN).items():
        got = Read(made)
        assert [a["id"] for tag, a in got.tags if tag == "section"] == SECTIONS[file]


def test_the_year_is_said_once_on_the_pages_of_the_closure_and_the_crew():
    for file in ("plan.html", "crew.html"):
        made = pages_of(PLAN)[file].decode()
        seen = re.sub(
            r"<(style|script|desc|title)\b.*?</\1>", "", made, flags=re.DOTALL
        )
        words = re.sub(r"<[^>]+>", " ", seen)
        assert re.findall(rf"\b{YEAR}\b", words) == [str(YEAR)]


def test_a_date_of_another_year_says_it():
    late = changed(PLAN, bookings=(Taken(
        start=local(FIRST, 8) + timedelta(days=330),
        end=local(FIRST, 9) + timedelta(days=330), reason="gala",
    ),))  # fmt: skip
    view = View(late, year_said=True)
    assert view.day(late.stage.bookings[0].start) == "Tue 4 Jan 2028"
    assert view.day(late.stage.closure[0]) == "Mon 8 Feb"


def test_ids_are_unique_and_every_link_leads_somewhere():
    read = {file: Read(made) for file, made in pages_of(PLAN).items()}
    for here, got in read.items():
        assert len(got.ids) == len(set(got.ids))
        links = [str(a["href"]) for tag, a in got.tags if tag == "a"]
        assert {f for f in read if f != here} <= set(links)  # the way to the others
        for link in links:
            file, _, target = link.partition("#")
            assert (file or here) in read
            assert not target or target in read[file or here].ids


def test_the_two_returns_and_the_closure_come_first(page):
    words = page.part("back")
    for r in PLAN.stage.returns:
        assert r.promise is not None
        assert said(r.promise).replace(",", " ,") in words.replace(",", " ,").replace(
            "  ", " "
        )
    start, promise = PLAN.stage.promised_closure
    assert f"{said(start)} to {said(promise)}" in words
    days = (promise.astimezone(HALIFAX).date() - FIRST).days + 1
    assert f"stage 1,900 for {days} days; its days go to the promise" in words


def test_every_bay_has_its_surfaces_with_the_plans_times(page):
    words = page.part("board")
    for bay in PLAN.stage.bays:
        assert f" {bay.name} " in words
    changes = {"open": "opened", "anchor": "anchored", "tape": "taped"}
    for task in PLAN.tasks:
        if task.phase in changes:
            state = changes[task.phase]
            assert re.search(
                rf"{said(task.end)} {said(_next_end(task))} {state} {task.title}", words
            ), task.id


def _next_end(task):
    """When the next work that changes the surface of a task's bay ends."""
    order = ["open", "back", "set", "anchor", "tape", "setting-coat"]
    after = order[order.index(task.phase) + 1]
    return next(t.end for t in PLAN.tasks if t.phase == after and t.bays == task.bays)


def test_every_person_has_every_hour(page):
    for person in PLAN.crew:
        words = page.part(f"person-{person.id}")
        assert words.startswith(person.name)
        own = [t for t in PLAN.tasks if person.id in t.team]
        days = {said(t.start)[:-7] for t in own}
        for day in days:
            of_day = [t for t in own if said(t.start)[:-7] == day]
            first = said(min(t.start for t in of_day))[-5:]
            last = said(max(t.end for t in of_day))[-5:]
            assert f"{day} 08:00 to 16:00 {first} to {last} {len(of_day)} h" in words
        assert len(days) == person.days_called
    total = sum(c.worked_min for c in PLAN.crew) // 60
    assert f"All {sum(c.days_called for c in PLAN.crew)} {total} h" in page.part(
        "people"
    )


def test_every_wait_has_its_hours_its_air_and_its_times(page):
    words = page.part("air")
    for wait in PLAN.waits:
        title = next(t.title for t in PLAN.tasks if t.id == wait.task)
        hours = (wait.ready - wait.begins) // timedelta(hours=1)
        line = (
            f"{title} {wait.product_title} {wait.way} : {wait.stage}.* "
            f"{said(wait.begins)} .*{said(wait.likely)} {said(wait.ready)} "
            f"{hours} h 68 °F \\(20 °C\\), 50 % humidity"
        )
        assert re.search(line.replace(" :", " ?:"), words), wait


def test_every_task_has_its_links_its_slack_and_its_reason(page):
    view = View(PLAN)
    for task in PLAN.tasks:
        words = page.part(f"task-{PLAN.short_id(task.id)}")
        begins, ends = said(task.start), said(task.end)
        same = begins.split(",")[0] == ends.split(",")[0]
        assert f"{begins} to {ends[-5:] if same else ends} " in words
        assert "Slack 0 h before full service moves" in words
        before = [x for x in PLAN.links if x.after == task.id]
        for link in before:
            first = view.tasks[link.before]
            assert (
                f"After {first.title} , ended {said(first.end)}: {link.reason}" in words
            )
            if link.product and link.stage:
                wait = view.waits[(link.before, link.product, link.stage)]
                assert f"ready {said(wait.ready)}" in words
        assert before or "Waits for nothing" in words


def test_every_stretch_of_work_stands_on_the_sheet_of_its_day(page):
    for task in PLAN.tasks:
        at = task.start.astimezone(ZoneInfo("America/Halifax"))
        sheet = page.part(f"day-{at:%Y-%m-%d}")
        assert f"{said(task.start)[-5:]} to {said(task.end)[-5:]} {task.title}" in sheet
        assert "gloves" in sheet
        assert "Mind the edge" in sheet


def test_the_parts_of_the_closure_add_up(page):
    words = page.part("spent")
    hours = [
        int(h) + int(m or 0) / 60
        for h, m in re.findall(r"(\d+) h(?: (\d\d) min)?", words)
    ]
    *parts, whole = hours
    assert whole == (PLAN.stage.closure[1] - PLAN.stage.closure[0]) / timedelta(hours=1)
    assert sum(parts) == whole


def test_parts_that_do_not_add_up_are_our_mistake():
    wrong = changed(PLAN, division=(ClosureShare(part="working", minutes=60),))
    with pytest.raises(AssertionError, match="add up"):
        plan_page(wrong)


def test_a_booking_on_the_way_is_named():
    start = local(FIRST + timedelta(days=2), 9)
    shoot = Taken(start=start, end=start + timedelta(hours=30), reason="chair shoot")
    got = Read(*pages_of(made_plan(bookings=(shoot,))).values())
    assert "inside: chair shoot, Wed 10 Feb, 09:00 to Thu 11 Feb, 15:00" in got.part(
        "back"
    )
    assert "booked: chair shoot" in got.part("board")
    assert "Booked Wed 10 Feb, 09:00" in got.part("day-2027-02-10")


def test_a_booking_after_the_promise_is_no_booking_inside():
    back = PLAN.stage.promised_closure[1]
    soon = Taken(
        start=back + timedelta(days=1),
        end=back + timedelta(days=2),
        reason="soon",
    )
    later = replace(soon, reason="later", start=back + timedelta(days=30),
                    end=back + timedelta(days=31))  # fmt: skip
    before = replace(soon, reason="before", start=local(FIRST, 9) - timedelta(days=9),
                     end=local(FIRST, 9) - timedelta(days=8))  # fmt: skip
    words = Read(plan_page(made_plan(bookings=(before, soon, later)))).part("back")
    assert "inside: none while it may not be back yet: soon, " in words
    assert "then: later, " in words
    assert "before, " not in words


@pytest.mark.parametrize(
    ("start", "end", "words"),
    [
        ("10 09:00", "10 15:00", "Wed 10 Feb 2027, 09:00 to 15:00"),
        ("10 09:00", "11 15:00", "Wed 10 Feb, 09:00 to Thu 11 Feb 2027, 15:00"),
        ("10 09:00", "11 00:00", "Wed 10 Feb 2027, 09:00 to midnight"),
        ("10 09:00", "12 00:00", "Wed 10 Feb, 09:00 to midnight Thu 11 Feb 2027"),
        ("10 00:00", "11 09:00", "Wed 10 Feb, 00:00 to Thu 11 Feb 2027, 09:00"),
        ("10 00:00", "11 00:00", "Wed 10 Feb 2027, all day"),
        ("10 00:00", "13 00:00", "Wed 10 Feb to Fri 12 Feb 2027, all day"),
    ],
)
def test_a_stretch_says_its_year_once_and_the_night_by_its_day(start, end, words):
    a, b = (
        datetime.strptime(f"2027 02 {x}", "%Y %m %d %H:%M").replace(tzinfo=HALIFAX)
        for x in (start, end)
    )
    assert View(PLAN).span(a, b) == words


def test_the_years_of_a_stretch_over_new_year_are_both_said():
    a = datetime(2026, 12, 31, 8, tzinfo=HALIFAX)
    said = "Thu 31 Dec 2026, 08:00 to Fri 1 Jan 2027, 09:00"
    assert View(PLAN).span(a, a + timedelta(hours=25)) == said


def test_nights_have_one_account_on_the_page():
    share = ClosureShare(part="nights and days off", minutes=0)
    division = PLAN.stage.division
    first = division[0]
    moved = replace(share, minutes=180)
    plan = changed(
        PLAN, division=(replace(first, minutes=first.minutes - 180), *division[1:], moved)
    )  # fmt: skip
    got = Read(plan_page(plan))
    assert "Nights and days off: 3 h of its closure." in got.part("back")
    assert "nights and days off 3 h " in got.part("spent")


def test_a_limit_that_the_air_breaks_is_called_broken():
    damp = View(made_plan(humidity_pct=90.0))
    kept = {(r.product, r.limit): r.kept for r in limit_rows(_laying(damp))}
    assert kept["Primer", "humidity at most 85 %"] is False
    assert kept["Primer", "temperature at least 50 °F (10 °C)"] is True
    fine = {(r.product, r.limit): r.kept for r in limit_rows(_laying(View(PLAN)))}
    assert fine["Primer", "humidity at most 85 %"] is True


def _laying(view):
    """The same plan with its coats' products named on the tasks that lay them."""
    laid = {w.task: (w.product, w.stage) for w in view.plan.waits}
    tasks = tuple(
        replace(t, product=laid[t.id][0], dry_stage=laid[t.id][1])
        if t.id in laid
        else t
        for t in view.plan.tasks
    )
    return View(replace(view.plan, tasks=tasks))


@pytest.mark.parametrize("file", SECTIONS)
def test_a_page_asks_the_network_for_nothing(file):
    made = pages_of(PLAN)[file]
    text, got = made.decode(), Read(made)
    for tag, attrs in got.tags:
        for name in ("src", "action", "data", "poster", "srcset"):
            assert (attrs.get(name) or "#").startswith("#"), (tag, attrs)
        assert (attrs.get("href") or "#").split("#")[0] in {"", *SECTIONS}
    assert "@import" not in text
    assert all(u.startswith("#") for u in re.findall(r"url\(([^)]*)\)", text))
    policy = next(
        str(a["content"])
        for tag, a in got.tags
        if a.get("http-equiv") == "Content-Security-Policy"
    )
    assert policy.startswith("default-src 'none'")
    assert ("<script>" in text) is ("script-src" in policy)
    assert "unsafe-inline" not in policy.partition("script-src")[2]


HARD = (
    "<script>alert(1)</script>",
    "</style><img src=x onerror=alert(1)>",
    "\"quotes\" & 'apostrophes' {{ 7 * 7 }}",
    "👷‍♀️ 🧱",
    "קיר צפוני",
    "n" * 200,
    "half \ud800 and \x00",
)


@pytest.mark.parametrize("name", HARD)
@pytest.mark.parametrize("made", [plan_page, crew_page, reference_page])
def test_hard_names_stay_words(name, made):
    plan = made_plan(bays=(name, "wall"), people=(name, "Bo"), job=name, suffix=name)
    plain = made_plan(bays=("a", "wall"), people=("a", "Bo"), job="a", suffix="a")
    # The same tags and attributes as with plain names: nothing of a name became one.
    assert _outside_pictures(Read(made(plan))) == _outside_pictures(Read(made(plain)))


def _outside_pictures(read):
    """Tags with their attributes' names; how much fits a picture hangs on a name."""
    inside = ("path", "title", "text", "rect")
    return [(t, sorted(a)) for t, a in read.tags if t not in inside]


def test_three_hundred_tasks_are_quick_and_small():
    plan = made_plan(bays=tuple(f"bay {n}" for n in range(25)))
    assert len(plan.tasks) == 300
    pages_of(plan)  # templates read, tables made
    start = time.process_time()
    made = pages_of(plan)
    assert time.process_time() - start < 2.0
    assert sum(map(len, made.values())) < 1_600_000


def test_the_same_plan_gives_the_same_bytes():
    assert pages_of(made_plan()) == pages_of(made_plan())


@pytest.mark.parametrize("file", SECTIONS)
def test_no_words_are_glued_together_for_those_who_copy_or_listen(file):
    """Between two pieces of text in a line stands a space or a mark."""
    text = pages_of(PLAN)[file].decode()
    glued = r"[\w.)](?:</(?:a|b|bdi|span)>)+<(?:a|b|bdi|span)\b[^>]*>\w"
    assert re.findall(rf".{{20}}{glued}.{{20}}", text) == []

"""The calendars as written: their bytes say the plan's instants, and no others.

A small reader of its own, for what these calendars hold: whole days, UTC instants,
and local times of the site's zone.
"""

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from planner.judge.calendars import tongue
from planner.nouns.feed import clean_line
from planner.nouns.plan import Plan, PlannedStage, PlannedTask, PlannedWait
from planner.nouns.work import ReturnKind
from planner.units import moment_words

SHOWN = timedelta(minutes=15)  # a return is an instant; a calendar shows this much


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """An entry of a calendar: whole days or instants, and whether it takes time."""

    start: date
    end: date
    title: str
    text: str
    busy: bool
    tentative: bool


def faults(plan: Plan, files: Mapping[str, bytes]) -> Iterator[str]:
    """Yield where a plan's calendars, by their paths, don't say what the plan says."""
    titles = {t.id: clean_line(t.title) for t in plan.tasks}
    zone = ZoneInfo(plan.zone)

    def closure(stage: PlannedStage) -> Counter[Entry]:
        return _closure(stage, zone)

    wanted = {
        "closure.ics": sum(map(closure, plan.stages), Counter()),
        **{f"closure/{s.id}.ics": closure(s) for s in plan.stages},
        "crew.ics": _work(plan, plan.tasks),
        **{
            f"people/{p.id}.ics": (_by_shift if plan.entries == "shifts" else _work)(
                plan, tuple(t for t in plan.tasks if p.id in t.team), p.language
            )
            for p in plan.crew
        },
    }
    for path in ("waits.ics", *wanted):
        if path not in files:
            yield f"{path}: is not written"
            continue
        try:
            events = tuple(_events(files[path], ZoneInfo(plan.zone)))
        except (ValueError, KeyError) as error:
            yield f"{path}: can't be read back: {error}"
            continue
        if path == "waits.ics":
            yield from _waits(plan, titles, events)
        else:
            yield from _compared(plan, path, wanted[path], events)
    for path in files:
        if path.endswith(".ics") and path not in (*wanted, "waits.ics"):
            for event in _events(files[path], ZoneInfo(plan.zone)):
                yield f'{path}: "{event.title}" is nobody\'s of this plan'


Said = tuple[date, date, bool, bool]
Entry = tuple[Said, str, tuple[str, ...]]  # what its title has to say, and its text


def _work(
    plan: Plan, tasks: tuple[PlannedTask, ...], tag: str = tongue.ENGLISH
) -> Counter[Entry]:
    """Return what a calendar of work has to say, in the language of a tag."""
    return Counter(
        ((a, b, True, False), clean_line(tongue.title(plan, t, tag)), ())
        for t in tasks
        for a, b in t.spans
    )


def _by_shift(
    plan: Plan, tasks: tuple[PlannedTask, ...], tag: str = tongue.ENGLISH
) -> Counter[Entry]:
    """Return the same of a calendar of shifts: each names its tasks with their hours.

    A shift ends where its person does nothing for six hours or longer.
    """
    zone, out = ZoneInfo(plan.zone), Counter[Entry]()
    worked = sorted(
        (a, b, tongue.title(plan, t, tag)) for t in tasks for a, b in t.spans
    )
    while worked:
        count, end = 1, worked[0][1]
        while count < len(worked) and worked[count][0] - end < timedelta(hours=6):
            end = max(end, worked[count][1])
            count += 1
        shift, worked = worked[:count], worked[count:]
        said = tuple(
            f"{a.astimezone(zone):%H:%M}-{b.astimezone(zone):%H:%M} {clean_line(title)}"
            for a, b, title in shift
        )
        out[(shift[0][0], end, True, False), clean_line(shift[0][2]), said] += 1
    return out


def _closure(stage: PlannedStage, zone: ZoneInfo) -> Counter[Entry]:
    """Return what the studio's calendar has to say by the promise.

    That is the closed days, each return that can be promised, and from full service on
    a tentative stretch; what is later than was looked at lasts as long as was looked.
    """
    looked = stage.sureness.looked_until
    full = next(r for r in stage.returns if r.kind is ReturnKind.FULL_SERVICE)
    start, end = stage.closure[0], full.promise or looked
    first = start.astimezone(zone).date()
    after = (end - timedelta(seconds=1)).astimezone(zone).date() + timedelta(days=1)
    out: Counter[Entry] = Counter()
    clear = f"Keep the stage clear from {moment_words(start, zone)} to "
    until = moment_words(end, zone) if full.promise else "later than"
    out[(first, after, True, False), "closed", (clear + until,)] += 1
    for back in stage.returns:
        if back.promise is None:
            continue
        shown = (back.promise, back.promise + SHOWN, False, False)
        works = f"working plan says {moment_words(back.when, zone)}"
        out[shown, back.kind, (works,)] += 1
    late = full.tentative_until or looked
    if full.promise is not None and late > full.promise:
        said = moment_words(late, zone) if full.tentative_until else "later than"
        out[(full.promise, late, True, True), "may not be back", (said,)] += 1
    return out


def _compared(
    plan: Plan,
    path: str,
    wanted: Counter[Entry],
    events: tuple[Event, ...],
) -> Iterator[str]:
    """Yield what is in one and not in the other; a title is found in what is written."""
    left = list(wanted.elements())
    for event in events:
        said = (event.start, event.end, event.busy, event.tentative)
        found = next(
            (
                w
                for w in left
                if w[0] == said
                and w[1] in event.title
                and all(line in event.text for line in w[2])
            ),
            None,
        )
        if found is None:
            yield (
                f'{path}: "{event.title}", {_span(plan, event.start, event.end)}, is '
                "not what the plan says"
            )
        else:
            left.remove(found)
    for (start, end, _, _), title, _ in left:
        yield f'{path}: "{title}", {_span(plan, start, end)}, is missing'


def _waits(
    plan: Plan, titles: Mapping[str, str], events: tuple[Event, ...]
) -> Iterator[str]:
    """Yield entries that are no wait of the plan, and waits that hold work but lack one."""
    path = "waits.ics"
    shown: set[tuple[str, datetime]] = set()
    for event in events:
        found = [
            w
            for w in plan.waits
            if (w.begins, w.ready) == (event.start, event.end)
            and clean_line(f"{titles[w.task]}: {w.product_title} {_says(w)}")
            in event.text
        ]
        if not found or event.busy:
            yield (
                f'{path}: "{event.title}", {_span(plan, event.start, event.end)}, is '
                "no wait of the plan, or takes time"
            )
        shown |= {(w.task, w.ready) for w in found}
    waits = {(w.task, w.product, w.stage): w for w in plan.waits}
    bays = {t.id: t.bays for t in plan.tasks}
    followed: list[PlannedWait] = []
    last: dict[tuple[str, tuple[str, ...]], PlannedWait] = {}
    for link in plan.links:
        wait = waits.get((link.before, link.product or "", link.stage or ""))
        if wait is None:
            continue
        followed.append(wait)
        place = (link.after, bays[link.before])
        if place not in last or wait.ready > last[place].ready:
            last[place] = wait
    # A wait that another one outlasts, for everything that follows it, isn't shown.
    outlasted = {id(w) for w in followed} - {id(w) for w in last.values()}
    held = {
        (w.task, w.ready)
        for w in plan.waits
        if w.ready > w.begins and id(w) not in outlasted
    }
    for task, ready in sorted(held - shown):
        yield (
            f'{path}: the wait after "{titles[task]}" until '
            f"{moment_words(ready, ZoneInfo(plan.zone))} is missing"
        )


def _says(wait: PlannedWait) -> str:
    """Return what happens in a wait: a test is no coat, and its result is awaited."""
    return "awaits its result" if wait.way == "lies" else wait.way


def _span(plan: Plan, start: date, end: date) -> str:
    if isinstance(start, datetime) and isinstance(end, datetime):
        zone = ZoneInfo(plan.zone)
        return f"{moment_words(start, zone)} to {moment_words(end, zone)}"
    return f"{start} to {end}"


# ----------------------------------------------------------------- the reader


def _lines(data: bytes) -> Iterator[tuple[str, dict[str, str], str]]:
    """Yield each unfolded line as its name, its parameters and its value."""
    text = data.replace(b"\r\n ", b"").replace(b"\r\n\t", b"").decode("utf-8")
    for line in text.split("\r\n"):
        if not line:
            continue
        head, value = _halves(line)
        name, *parameters = head.split(";")
        pairs = (p.partition("=") for p in parameters)
        yield name.upper(), {k.upper(): v.strip('"') for k, _, v in pairs}, value


def _halves(line: str) -> tuple[str, str]:
    """Return what stands before and after the first colon outside quotes."""
    quoted = False
    for place, char in enumerate(line):
        if char == '"':
            quoted = not quoted
        elif char == ":" and not quoted:
            return line[:place], line[place + 1 :]
    raise ValueError(f"no value in {line!r}")


def _moment(value: str, parameters: Mapping[str, str], zone: ZoneInfo) -> date:
    if parameters.get("VALUE") == "DATE":
        return datetime.strptime(value, "%Y%m%d").replace(tzinfo=UTC).date()
    if value.endswith("Z"):
        return datetime.strptime(value, "%Y%m%dT%H%M%SZ").replace(tzinfo=UTC)
    if parameters.get("TZID") != zone.key:
        raise ValueError(f"{value} is in no zone that the plan knows")
    local = datetime.strptime(value, "%Y%m%dT%H%M%S").replace(tzinfo=zone)
    return local.astimezone(UTC)


def _plain(value: str) -> str:
    """Return a text without its escapes."""
    out, escaped = [], False
    for char in value:
        if escaped:
            out.append("\n" if char in "nN" else char)
            escaped = False
        elif char == "\\":
            escaped = True
        else:
            out.append(char)
    return "".join(out)


def _events(data: bytes, zone: ZoneInfo) -> Iterator[Event]:
    """Yield the entries that stand; those that are cancelled don't."""
    held: dict[str, tuple[dict[str, str], str]] = {}
    place: list[str] = []
    for name, parameters, value in _lines(data):
        if name == "BEGIN":
            place.append(value)
            if value == "VEVENT":
                held = {}
        elif name == "END":
            place.pop()
            if value == "VEVENT" and held.get("STATUS", ({}, ""))[1] != "CANCELLED":
                yield _event(held, zone)
        elif place and place[-1] == "VEVENT":
            held[name] = (parameters, value)


def _event(held: Mapping[str, tuple[dict[str, str], str]], zone: ZoneInfo) -> Event:
    (start_how, start), (end_how, end) = held["DTSTART"], held["DTEND"]
    return Event(
        start=_moment(start, start_how, zone),
        end=_moment(end, end_how, zone),
        title=_plain(held["SUMMARY"][1]),
        text=_plain(held.get("DESCRIPTION", ({}, ""))[1]),
        busy=held.get("TRANSP", ({}, "OPAQUE"))[1] == "OPAQUE",
        tentative=held.get("STATUS", ({}, ""))[1] == "TENTATIVE",
    )

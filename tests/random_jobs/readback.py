"""The calendars that a plan wrote, read by programs of other makes, against the plan."""

import warnings
from collections import Counter
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from tests.random_jobs.truth import at, spans_of
from tests.support.calendar_lint import lint
from tests.support.readers import Seen, by_ical, by_icalendar

READERS: tuple[Callable[[bytes], tuple[str, list[Seen]]], ...] = (by_icalendar, by_ical)

Row = tuple[date | datetime, date | datetime, str, bool]  # start, end, title, free


def faults_of(folder: Path, plan: dict[str, Any]) -> list[str]:
    """Return each way in which a calendar of the folder doesn't say what the plan says.

    Of titles in another language it only looks whether they are the English ones: how
    they read, the judge of the calendars has looked at.
    """
    out: list[str] = []
    other = {f"people/{c['id']}.ics" for c in plan["crew"] if c["language"][:2] != "en"}
    for path, rows in _wanted(plan).items():
        data = (folder / path).read_bytes()
        out += (f"{path}: lint: {fault}" for fault in lint(data))
        for reader in READERS:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")  # of the readers' own making
                _, seen = reader(data)
            found = Counter((s.start, s.end, s.title, s.transparent) for s in seen)
            wanted = rows
            if path in other:
                out += (f"{path}: {t} is English" for _, _, t, _ in found & rows)
                found, wanted = _untitled(found), _untitled(rows)
            if found != wanted:
                more, less = found - wanted, wanted - found
                out.append(
                    f"{path} by {reader.__name__}: more {list(more)[:2]}, "
                    f"less {list(less)[:2]}"
                )
    return out + _waits(folder, plan)


def _untitled(rows: Counter[Row]) -> Counter[Row]:
    out: Counter[Row] = Counter()
    for (start, end, _, free), count in rows.items():
        out[start, end, "", free] += count
    return out


def _wanted(plan: dict[str, Any]) -> dict[str, Counter[Row]]:
    """Return what each calendar must hold, by its path."""
    names = {c["id"]: c["name"] for c in plan["crew"]}

    def work(person: str | None) -> Counter[Row]:
        rows: list[Row] = []
        for task in plan["tasks"]:
            if person is None:
                who = ", ".join(names[p] for p in task["team"])
                title = f"{task['title']} ({who})"
            elif person in task["team"]:
                title = task["title"]
            else:
                continue
            rows += ((a, b, title, False) for a, b in spans_of(task))
        return Counter(rows)

    return {
        "crew.ics": work(None),
        **{f"people/{c['id']}.ics": work(c["id"]) for c in plan["crew"]},
        "closure.ics": _closure(plan),
    }


def _closure(plan: dict[str, Any]) -> Counter[Row]:
    zone, stage = ZoneInfo(plan["zone"]), plan["stages"][0]["name"]
    here = plan["stages"][0]
    looked = here["sureness"]["looked_until"]
    full = next(r for r in here["returns"] if r["kind"] == "full service")
    start, end = at(here["closure"][0]), at(full["promise"] or looked)
    day = timedelta(days=1)
    last = (end - timedelta(seconds=1)).astimezone(zone).date()
    rows: list[Row] = [
        (
            start.astimezone(zone).date(),
            last + day,
            f"{stage}: closed for the backdrop",
            False,
        )
    ]
    for back in plan["stages"][0]["returns"]:
        if back["promise"] is None:
            continue
        when, late = at(back["promise"]), at(back["tentative_until"] or looked)
        title = f"{stage}: {back['kind']} from here on"
        rows.append((when, when + timedelta(minutes=15), title, True))
        if back["kind"] == "full service" and late > when:
            rows.append((when, late, f"{stage}: may not be back yet", False))
    return Counter(rows)


def _waits(folder: Path, plan: dict[str, Any]) -> list[str]:
    """Return entries of the waits' calendar that are no wait of the plan, or block."""
    known = {(at(w["begins"]), at(w["ready"])) for w in plan["waits"]}
    data = (folder / "waits.ics").read_bytes()
    out: list[str] = []
    for reader in READERS:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            _, seen = reader(data)
        for entry in seen:
            assert isinstance(entry.start, datetime)
            assert isinstance(entry.end, datetime)
            span = (entry.start.astimezone(UTC), entry.end.astimezone(UTC))
            if span not in known or not entry.transparent:
                out.append(f"waits.ics by {reader.__name__}: {entry.title}, {span}")
    return out

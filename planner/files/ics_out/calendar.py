"""Calendars that people subscribe to: a feed of entries becomes iCalendar bytes.

What an entry says stands in `components`; here is when it changes:

- a UID is a function of the entry's job, the feed and the entry's key, nothing else, so
  it is the same after every re-planning, on every machine, with or without state, and
  whatever other stages a plan holds;
- SEQUENCE, DTSTAMP and LAST-MODIFIED move when the content does and at no other
  time; an unchanged entry keeps its bytes. The plan that an entry comes from is no
  part of its content: the entry names the plan that last changed it;
- SEQUENCE is the number of seconds from 2025-01-01 UTC to the change, or one more
  than before where that is larger. RFC 5545 §3.8.7.4 has it begin at 0 and grow;
  ours begins higher, because a counter from 0 would go backwards when its file is
  lost, and a receiver would then ignore the newer entry. This holds until the year
  2093, and unless an entry changes oftener than once a second for as long;
- an entry that left the plan stays for some days, cancelled and free, then is gone.
"""

import hashlib
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from icalendar import Calendar, Event

from planner.files.ics_out.components import (
    cancelled_content,
    content_of,
    head_of,
    is_local,
    nothing,
    span_of,
    stamp,
    uid_of,
    written,
)
from planner.files.ics_out.lint import lint
from planner.files.ics_out.published import Published, PublishedState
from planner.files.ics_out.zone import zone_definition
from planner.nouns.feed import Feed, Timed, clean_line, require_name

_SEQUENCE_ORIGIN = datetime(2025, 1, 1, tzinfo=UTC)


def _digest(content: Event) -> str:
    """Return the SHA-256 of the lines, so that folding has no part in it."""
    lines = content.content_lines(sorted=False)
    return hashlib.sha256("\n".join(lines).encode()).hexdigest()


def _sequence(now: datetime, old: Published | None) -> int:
    """Return the sequence number of a change made now (see the top of the module)."""
    seconds = max(0, int((now - _SEQUENCE_ORIGIN).total_seconds()))
    return max(seconds, old.sequence + 1) if old else seconds


def _changed(new: Published, old: Published | None, now: datetime) -> Published:
    """Return the record of an entry: the old one if its content is still the same."""
    if old and old.digest == new.digest:
        return old
    changed = max(now, old.changed) if old else now
    return replace(new, sequence=_sequence(now, old), changed=changed)


def _present(
    feed: Feed,
    plan_id: str,
    old: dict[str, Published],
    now: datetime,
    *,
    links: bool,
    zone: ZoneInfo | None,
) -> list[tuple[Published, Event]]:
    """Return the record and the content of each entry in the feed."""
    found = []
    for entry in feed.entries:
        owner = entry.job_id or plan_id
        near = (entry.key, *(follow_on.key for follow_on in entry.follow_ons))
        uids = {key: uid_of(owner, feed.seed, key) for key in near}
        content = content_of(entry, uids, links=links, zone=zone)
        start, end = map(written, span_of(entry.when))
        record = Published(
            feed=feed.seed,
            key=entry.key,
            uid=uids[entry.key],
            sequence=0,
            changed=now,
            digest=_digest(content),
            title=clean_line(entry.title),
            start=start,
            end=end,
            cancelled=False,
            origin=feed.origin,
        )
        record = _changed(record, old.get(record.uid), now)
        whole = content_of(entry, uids, links=links, zone=zone, origin=record.origin)
        found.append((record, whole))
    return found


def _gone(
    old: dict[str, Published], present: set[str], now: datetime, keep: timedelta
) -> list[tuple[Published, Event]]:
    """Return the record and the content of each entry shown as cancelled."""
    found = []
    for entry in old.values():
        if entry.uid in present or (entry.cancelled and now - entry.changed >= keep):
            continue
        content = cancelled_content(entry)
        record = replace(entry, cancelled=True, digest=_digest(content))
        found.append((_changed(record, entry, now), content))
    return found


def _whole(
    feed: Feed,
    plan_id: str,
    shown: list[tuple[Published, Event]],
    zone: ZoneInfo | None,
) -> Calendar:
    """Return the calendar with its entries, and with the zone where they name it."""
    instants = [
        x
        for entry in feed.entries
        if zone is not None
        and isinstance(entry.when, Timed)
        and is_local(entry.when, zone)
        for x in (entry.when.start, entry.when.end)
    ]
    calendar = head_of(feed, plan_id)
    if zone is not None and instants:
        calendar.add_component(zone_definition(zone, instants))
    for record, event in shown:
        stamp(event, record)
        calendar.add_component(event)
    if not shown:
        calendar.add_component(nothing())
    return calendar


def write(
    feed: Feed,
    *,
    plan_id: str,
    state: PublishedState,
    now: datetime,
    links: bool = False,
    zone: ZoneInfo | None = None,
    keep_cancelled_days: int = 14,
) -> tuple[bytes, PublishedState]:
    """Return a feed as the bytes of its file, and the state to keep beside it.

    Parameters
    ----------
    feed
        The calendar and its entries, in any order.
    plan_id
        What names this plan and stays the same when it is planned again: the calendar
        is known by it, and entries that name no job.
    state
        What was published before; only the entries of this feed are touched.
    now
        The moment of publication, in UTC; stands in changed entries only.
    links
        Whether each entry names its follow-ons (RFC 9253, in the predecessor).
    zone
        In which zone instants are written; None for UTC, which all receivers read
        alike. Cancelled entries are always in UTC, and so are those that touch the
        hour which the zone's clocks go through twice.
    keep_cancelled_days
        How long an entry that left the plan is shown as cancelled. [d], 0 or more

    Raises
    ------
    OutputError
        If instants can't be written in the zone (see `zone`).
    RuntimeError
        If the bytes fail the lint, which is a mistake of this program.
    """
    require_name("plan_id", plan_id)
    if now.utcoffset() != timedelta(0):
        raise ValueError(f"now is {now}, not in UTC")
    now = now.astimezone(UTC).replace(microsecond=0)
    keep = timedelta(days=keep_cancelled_days)
    old = {entry.uid: entry for entry in state.of_feed(feed.seed)}

    shown = _present(feed, plan_id, old, now, links=links, zone=zone)
    shown += _gone(old, {record.uid for record, _ in shown}, now, keep)
    shown.sort(key=lambda pair: (pair[0].start, pair[0].key, pair[0].uid))

    data: bytes = _whole(feed, plan_id, shown, zone).to_ical(sorted=False)
    faults = lint(data)
    if faults:
        raise RuntimeError(f"{feed.seed}: " + "\n".join(map(str, faults)))
    return data, state.with_feed(feed.seed, tuple(record for record, _ in shown))

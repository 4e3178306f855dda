"""What calendars and their entries say, as components of the icalendar package.

The components, the escaping and folding of lines and the forms of values come from
the icalendar package. Which properties there are, in which order and with which
parameters is said here, one by one, each with the type of its value, since what
receivers read alike is narrower than what iCalendar allows:

- times are UTC instants, whole days are dates with the end excluded; no RRULE,
  DURATION, METHOD, ORGANIZER, ATTENDEE or VALARM. On request instants are local
  times of a zone that the file defines, see `zone`.

Four things the package does otherwise than we need, so they are done here: it puts
properties in its own order and writes 24 hours as P1D, it takes a backslash before
a capital N for a line end, and it leaves control characters in and most values
unchecked. So texts are cleaned and values checked before they reach it, and the
lint, which doesn't use the package, reads the bytes after.

Standards: RFC 5545 (iCalendar), RFC 7986 (NAME, COLOR, REFRESH-INTERVAL, SOURCE),
RFC 9253 (temporal links with GAP), MS-OXCICAL (X-MICROSOFT-CDO-BUSYSTATUS).
"""

import re
import uuid
from collections.abc import Iterable
from datetime import UTC, date, datetime, timedelta, tzinfo
from zoneinfo import ZoneInfo

from icalendar import Calendar, Event, Timezone, TimezoneStandard
from icalendar.prop import (
    vCategory,
    vDatetime,
    vDDDTypes,
    vInt,
    vText,
    vUri,
    vUTCOffset,
)

from planner.files.ics_out.css_colors import CSS3_COLORS
from planner.files.ics_out.published import Published
from planner.files.ics_out.zone import comes_twice
from planner.nouns.feed import (
    AllDay,
    Feed,
    FeedEntry,
    FollowOn,
    Timed,
    clean_line,
    clean_text,
)

_NAMESPACE = uuid.UUID("6b1f6a0e-0f0c-4c55-9a53-2f9c1d6f0a7e")
_CANCELLED = "Cancelled: "

# ------------------------------------------------------------------- values


class _Text(vText):
    r"""A text as it was typed: `C:\Notes` keeps its backslash.

    A plain vText takes a backslash before a capital N for a line end.
    """

    def to_ical(self) -> bytes:
        """Return the text with its escapes (RFC 5545 §3.3.11)."""
        parts = self.split(r"\N")  # each is escaped alone, and the backslash between
        return rb"\\N".join(vText(part).to_ical() for part in parts)


def _categories(names: Iterable[str]) -> vCategory:
    """Return the names on one line; vCategory would make plain vTexts of them."""
    value = vCategory([])
    value.cats = [_Text(name) for name in names]
    return value


def written(when: date) -> str:
    """Return a day or an instant as it stands in the file."""
    return vDDDTypes(when).to_ical().decode()


def _read(value: str) -> date:
    """Return the day or the instant that stands in the file."""
    when: date = vDDDTypes.from_ical(value)  # type: ignore[no-untyped-call]  # icalendar's
    return when


def gap_text(gap: timedelta) -> str:
    """Return an exact duration in hours, minutes and seconds: a day is PT24H.

    P1D would be a day of the calendar, 23 or 25 hours long at a clock change
    (RFC 5545 §3.3.6), and a wait for a coat is hours. vDuration writes P1D.

    Examples
    --------
    >>> gap_text(timedelta(days=1)), gap_text(timedelta(minutes=-90))
    ('PT24H', '-PT1H30M')
    """
    seconds = abs(round(gap.total_seconds()))
    hours, minutes, seconds = seconds // 3600, seconds // 60 % 60, seconds % 60
    text = f"{hours}H" if hours else ""
    if minutes or (hours and seconds):  # hours and seconds need minutes between them
        text += f"{minutes}M"
    if seconds or not text:
        text += f"{seconds}S"
    return f"{'-' if gap < timedelta(0) else ''}PT{text}"


# ------------------------------------------------------------------ content


def uid_of(owner: str, seed: str, key: str = "") -> str:
    """Return the UID of an entry, or of the calendar itself if no key is given.

    `owner` is the id of the entry's job, or of the plan. The UID is the same for ever,
    whatever the entry says.
    """
    return str(uuid.uuid5(_NAMESPACE, "\n".join((owner, seed, key))))


def span_of(when: Timed | AllDay, zone: ZoneInfo | None = None) -> tuple[date, date]:
    """Return start and end, days with the end excluded or instants in the zone.

    By default that is UTC itself; any other zone is named in the file, even where
    it agrees with UTC.
    """
    if isinstance(when, AllDay):
        return when.first, when.last + timedelta(days=1)
    local: tzinfo = zone if zone is not None and is_local(when, zone) else UTC
    return when.start.astimezone(local), when.end.astimezone(local)


def is_local(when: Timed | AllDay, zone: ZoneInfo) -> bool:
    """Tell whether an entry can be written in local times.

    One that starts or ends in the hour that the clocks go through twice can't: the
    local time would name two instants. It is written in UTC.
    """
    if isinstance(when, AllDay):
        return False
    return not (comes_twice(when.start, zone) or comes_twice(when.end, zone))


def _event(uid: str, span: tuple[date, date], title: str) -> Event:
    """Return an entry that says what it is and when."""
    event = Event()
    event.add("UID", vText(uid))
    event.add("DTSTART", vDDDTypes(span[0]))  # with VALUE=DATE if it is a day
    event.add("DTEND", vDDDTypes(span[1]))
    event.add("SUMMARY", _Text(title))
    return event


def _add_standing(event: Event, *, status: str, busy: str) -> None:
    """Add the three properties that say whether the time is taken."""
    event.add("STATUS", vText(status))
    event.add("TRANSP", vText("TRANSPARENT" if busy == "FREE" else "OPAQUE"))
    event.add("X-MICROSOFT-CDO-BUSYSTATUS", vText(busy))


def content_of(
    entry: FeedEntry,
    uids: dict[str, str],
    *,
    links: bool,
    zone: ZoneInfo | None,
    origin: str = "",
) -> Event:
    """Return all that a present entry says, its stamps left out."""
    span = span_of(entry.when, zone)
    event = _event(uids[entry.key], span, clean_line(entry.title))
    for name, value in (
        ("DESCRIPTION", clean_text(f"{entry.description}\n{origin}")),
        ("LOCATION", clean_line(entry.location)),
    ):
        if value:
            event.add(name, _Text(value))
    if entry.categories:
        event.add("CATEGORIES", _categories(entry.categories))
    busy = "FREE" if not entry.busy else "TENTATIVE" if entry.tentative else "BUSY"
    status = "TENTATIVE" if entry.tentative else "CONFIRMED"
    _add_standing(event, status=status, busy=busy)
    if links:
        for follow_on in entry.follow_ons:
            event.add("RELATED-TO", _link(follow_on, uids[follow_on.key]))
    return event


def _link(follow_on: FollowOn, uid: str) -> vText:
    params = {"RELTYPE": follow_on.relation.value}
    if follow_on.gap:
        params["GAP"] = gap_text(follow_on.gap)
    return vText(uid, params=params)


def cancelled_content(entry: Published) -> Event:
    """Return all that an entry which left the plan still says."""
    span = _read(entry.start), _read(entry.end)
    event = _event(entry.uid, span, _CANCELLED + entry.title)
    _add_standing(event, status="CANCELLED", busy="FREE")
    return event


def stamp(event: Event, record: Published) -> None:
    """Add when the content last changed, and its number."""
    event.add("DTSTAMP", vDatetime(record.changed))
    event.add("LAST-MODIFIED", vDatetime(record.changed))
    event.add("SEQUENCE", vInt(record.sequence))


# ------------------------------------------------------------- the calendar


def head_of(feed: Feed, plan_id: str) -> Calendar:
    """Return the calendar without its entries."""
    if feed.color not in CSS3_COLORS:
        raise ValueError(f"color {feed.color!r} is not a name of CSS3")
    if feed.source_url and not re.fullmatch(r"https?://[!-~]+", feed.source_url):
        raise ValueError(f"source_url {feed.source_url!r} is not a web address")
    name, description = _Text(feed.name), _Text(clean_text(feed.description))
    refresh = gap_text(timedelta(hours=feed.refresh_h))
    calendar = Calendar()
    calendar.add("VERSION", vText("2.0"))
    calendar.add("PRODID", vText("-//covetime//planner//EN"))
    calendar.add("CALSCALE", vText("GREGORIAN"))
    calendar.add("UID", vText(uid_of(plan_id, feed.seed)))
    calendar.add("NAME", name)
    calendar.add("X-WR-CALNAME", name)
    if description:
        calendar.add("DESCRIPTION", description)
        calendar.add("X-WR-CALDESC", description)
    calendar.add("COLOR", vText(feed.color))
    calendar.add("REFRESH-INTERVAL", vText(refresh, params={"VALUE": "DURATION"}))
    calendar.add("X-PUBLISHED-TTL", vText(refresh))
    if feed.source_url:
        calendar.add("SOURCE", vUri(feed.source_url, params={"VALUE": "URI"}))
    return calendar


def nothing() -> Timezone:
    """Return the definition of UTC, which shows nothing.

    A calendar must hold a component (RFC 5545 §3.6), and a subscriber is better
    served by a calendar without entries than by an address that has gone. So one
    without entries holds this.
    """
    standard = TimezoneStandard()
    standard.add("DTSTART", vDatetime(datetime(1970, 1, 1)))  # noqa: DTZ001 - §3.6.5: local
    standard.add("TZOFFSETFROM", vUTCOffset(timedelta(0)))
    standard.add("TZOFFSETTO", vUTCOffset(timedelta(0)))
    standard.add("TZNAME", vText("UTC"))
    zone = Timezone()
    zone.add("TZID", vText("Etc/UTC"))
    zone.add_component(standard)
    return zone

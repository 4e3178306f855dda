"""Change notes: what a new plan means for each person, for the manager, for the owner.

Each is told what changes for them and nothing else; for whom nothing changes there is no
note. A note is a text and a page that says the same.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, tzinfo
from zoneinfo import ZoneInfo

from markupsafe import Markup

from planner.languages.catalogues import language_of
from planner.languages.language import ENGLISH, Language
from planner.nouns.calendar import Busy
from planner.nouns.living.changed import (
    ChangedDay,
    PersonChanges,
)
from planner.nouns.plan import Plan
from planner.nouns.purchase import Cost
from planner.nouns.work import ReturnKind
from planner.report.columns import item, wrapped
from planner.report.drawing import tokens
from planner.report.drawing.telling import unchecked
from planner.report.drawing.templating import environment
from planner.report.living.note_paths import FOLDER, MANAGER, OWNER, PEOPLE
from planner.report.living.revised_text import (
    booking_words,
    clear_until,
    closure_words,
    later_words,
    why_promised,
)
from planner.report.living.teller import ChangeTeller
from planner.report.words.sure.cases import share_words
from planner.report.words.sure.promise import (
    owner_words,
    promise_words,
)
from planner.units import day_words, moment_words

CLOSED = "The stage's closure"
PROMISE_MOVED = "What moved the promise of full service"


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """A note: its path without an ending, its title, and its parts with their lines.

    `warning` is said in a language whose words nobody has checked.
    """

    path: str
    title: str
    parts: tuple[tuple[str, tuple[str, ...]], ...]
    lang: str = ENGLISH.tag
    warning: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class News:
    """Two plans of one job, and what there is to say of the step between them.

    `why` are things that the new plan knows and the earlier one didn't, in words;
    `unkept` are bookings that the closure lies over now, `causes` what moved the promise,
    in words, with the minutes that it is later for each.
    """

    before: Plan
    after: Plan
    now: datetime
    people: tuple[PersonChanges, ...]
    why: tuple[str, ...]
    unkept: tuple[Busy, ...] = ()
    causes: tuple[tuple[str, int], ...] = ()
    is_revised: bool = True  # not: an earlier plan was put back

    @property
    def zone(self) -> ZoneInfo:
        """The site's zone."""
        return ZoneInfo(self.after.zone)


def notes(news: News) -> tuple[Note, ...]:
    """Return the notes of everybody for whom something changes."""
    found = (
        *(_of_person(news, p) for p in news.people),
        _of_manager(news),
        _of_owner(news),
    )
    return tuple(note for note in found if note is not None)


def note_files(written: Sequence[Note]) -> dict[str, bytes]:
    """Return the notes as texts and pages, by their paths."""
    out: dict[str, bytes] = {}
    for note in written:
        out[f"{note.path}.txt"] = note_text(note).encode()
        out[f"{note.path}.html"] = note_page(note).encode()
    return out


def note_text(note: Note) -> str:
    """Return a note as plain text."""
    lines = wrapped(note.title)
    if note.warning:
        lines += ["", *wrapped(note.warning)]
    for head, said in note.parts:
        lines += ["", head, *(x for words in said for x in item(words))]
    return "\n".join(lines) + "\n"


def note_page(note: Note) -> str:
    """Return a note as a page that needs no network and no script."""
    template = environment().get_template("note.html.j2")
    return template.render(note=note, tokens=Markup(tokens.css())) + "\n"


def _note(
    news: News,
    name: str,
    who: str,
    *parts: tuple[str, Sequence[str]],
    language: Language = ENGLISH,
) -> Note | None:
    """Return a note of the parts that say something; None where none does."""
    kept = tuple((head, tuple(lines)) for head, lines in parts if lines)
    if not kept:
        return None
    title = language.say(
        "{job}: what changes for {who}, as of {when}",
        job=news.after.job,
        who=who,
        when=language.moment(news.now, news.zone),
    )
    return Note(
        path=f"{FOLDER}/{name}",
        title=title,
        parts=kept,
        lang=language.tag,
        warning="" if language.is_checked else unchecked(language),
    )


# ------------------------------------------------------------------------ a person


def _of_person(news: News, person: PersonChanges) -> Note | None:
    crew = {p.id: p for p in (*news.before.crew, *news.after.crew)}
    teller = ChangeTeller(news, language_of(crew[person.id].language))
    return _note(
        news,
        f"{PEOPLE}/{person.id}",
        person.name,
        (teller.say("Days"), [teller.day(d) for d in person.days]),
        (teller.say("Work"), [teller.task(t) for t in person.tasks]),
        language=teller.language,
    )


# ---------------------------------------------------------- the manager, the owner


def _of_manager(news: News) -> Note | None:
    shifts = [
        f"{person.name}: {'; '.join(_called(d, news) for d in person.days)}"
        for person in news.people
        if person.days
    ]
    money = list(_money(news))
    returns, closed = [*_returns(news)], [*_closed(news)]
    changed = (*returns, *closed, *shifts, *money, *_on_site(news), *news.unkept)
    if not changed:
        return None
    return _note(
        news,
        MANAGER,
        "the production manager",
        ("Returns", returns),
        (CLOSED, closed),
        (PROMISE_MOVED, _why_promised(news)),
        ("No longer fits", _unkept(news)),
        ("Days called", shifts),
        ("Cost", money),
        ("On site", [*_on_site(news)]),
        ("What the earlier plan didn't know", news.why),
    )


def _of_owner(news: News) -> Note | None:
    returns, closed = [*_returns(news)], [*_closed(news)]
    if not returns and not closed and not news.unkept:
        return None
    sure = [owner_words(news.after, news.after.stage)]
    return _note(
        news,
        OWNER,
        "the studio's owner",
        ("When the stage is back", [*returns, *sure]),
        (CLOSED, closed),
        (PROMISE_MOVED, _why_promised(news)),
        ("No longer fits", _unkept(news)),
        ("What the earlier plan didn't know", news.why),
    )


def _returns(news: News) -> Iterator[str]:
    """Yield both returns where their promise or the working plan's date moved."""
    zone = news.zone
    for kind in ReturnKind:
        old, new = (p.stage.returning(kind) for p in (news.before, news.after))
        was, is_ = news.before.stage, news.after.stage
        if (old.when, old.promise) == (new.when, new.promise):
            continue
        head = kind.capitalize()
        percent = share_words(is_.sureness.sure_percent)
        words = promise_words(news.after, is_, new)
        if (promised := promise_words(news.before, was, old)) != words:
            yield f"{head} in {percent} cases: {words}, not {promised}"
        minutes = (new.when - old.when).total_seconds() / 60
        works = f"{moment_words(new.when, zone)}, {later_words(minutes)}"
        yield f"{head} by the crew's working plan: {works}"


def _closed(news: News) -> Iterator[str]:
    return closure_words(news.before, news.after, now=news.now, zone=news.zone)


def _why_promised(news: News) -> list[str]:
    """Return what moved the promise; nothing where an earlier plan was put back."""
    if not news.is_revised:
        return []
    return [*why_promised(news.before, news.after, news.causes)]


def _unkept(news: News) -> list[str]:
    back = clear_until(news.after, news.zone)
    return [
        f"{booking_words(b, news.zone)}: the stage is closed until {back}"
        for b in news.unkept
    ]


def _called(day: ChangedDay, news: News) -> str:
    if day.after is None:
        assert day.before is not None
        return f"not on {day_words(day.before[0], news.zone)}"
    also = "also " if day.before is None else ""
    return f"{also}{ChangeTeller(news, ENGLISH).span(day.after)}"


def _money(news: News) -> Iterator[str]:
    old, new = news.before.cost, news.after.cost
    for name, was, is_ in (
        ("Stage", old.stage, new.stage),
        ("Labour", old.labour, new.labour),
    ):
        if is_ is not None and was is not None and round(is_) != round(was):
            yield f"{name}: {_sum(is_, new)}, {_more(is_ - was)}"


def _sum(amount: float, cost: Cost) -> str:
    return f"{amount:,.0f} {cost.currency}".rstrip()


def _more(amount: float) -> str:
    return f"{abs(amount):,.0f} {'more' if amount > 0 else 'less'}"


def _on_site(news: News) -> Iterator[str]:
    """Yield what has to be on site on another day; what was used up by now has been."""
    old = {s.id: s.on_site for s in news.before.supplies}
    today = news.now.astimezone(news.zone).date()
    for supply in news.after.supplies:
        was, is_ = old.get(supply.id), supply.on_site
        if was == is_ or is_ is None or is_ < today:
            continue
        earlier = f", not {_date(was, news.zone)}" if was is not None else ""
        yield f"{supply.title}: by {_date(is_, news.zone)}{earlier}"


def _date(day: date, zone: tzinfo) -> str:
    return day_words(datetime.combine(day, time(), tzinfo=zone), zone)

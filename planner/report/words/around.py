"""What is done before the work, beside it and after it, in words with its day."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time

from planner.nouns.plan import Plan
from planner.units import day_words

OF_RETURNS = ("feet", "trolleys")


@dataclass(frozen=True, slots=True, kw_only=True)
class AroundRow:
    """A reminder; `day` is empty where it has none, `of_return` tells one that says a return only."""

    when: str
    day: str
    title: str
    words: str
    source: str
    of_return: bool


def around_rows(plan: Plan) -> tuple[AroundRow, ...]:
    """Return every reminder: those before, beside and after the work, each by their days."""
    stretches = list(dict.fromkeys(r.when for r in plan.reminders))
    by_day = sorted(
        plan.reminders,
        key=lambda r: (stretches.index(r.when), r.day or date.max),
    )
    return tuple(
        AroundRow(
            when=r.when,
            day=_date_words(r.day) if r.day else "",
            title=r.title,
            words=r.words,
            source=r.source,
            of_return=r.id in OF_RETURNS,
        )
        for r in by_day
    )


def _date_words(day: date) -> str:
    return day_words(datetime.combine(day, time(), tzinfo=UTC), UTC)

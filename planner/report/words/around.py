"""What is done before the work, beside it and after it, in words with its day."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time

from planner.nouns.plan import Plan
from planner.units import day_words


@dataclass(frozen=True, slots=True, kw_only=True)
class AroundRow:
    """A reminder; `day` is empty where it has none."""

    when: str
    day: str
    title: str
    words: str
    source: str


def around_rows(plan: Plan) -> tuple[AroundRow, ...]:
    """Return every reminder of a plan, in its order."""
    return tuple(
        AroundRow(
            when=r.when,
            day=_date_words(r.day) if r.day else "",
            title=r.title,
            words=r.words,
            source=r.source,
        )
        for r in plan.reminders
    )


def _date_words(day: date) -> str:
    return day_words(datetime.combine(day, time(), tzinfo=UTC), UTC)

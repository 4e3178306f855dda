"""The purchase list as plain text, 80 columns wide."""

from collections.abc import Iterator
from itertools import groupby

from planner.report.columns import item
from planner.report.words.quantities_rows import (
    PLAN_FIRST,
    Buying,
    BuyRow,
    buy_rows,
    tool_rows,
)

HOW_TO_PLAN = "plan first, with: covetime plan JOB"


def quantities_text(buying: Buying) -> str:
    """Return what to buy by which day, the tools and their days, and the rates."""
    rows = buy_rows(buying)
    return (
        "\n".join([*_head(buying), *_buy(rows), *_tools(buying), *_rates(rows)]) + "\n"
    )


def _head(buying: Buying) -> Iterator[str]:
    yield from item(f"{buying.job}: what to buy, and by when", "")
    if buying.plan:
        yield from item(f"Plan {buying.mark}, days in {buying.zone}", "")
    else:
        yield from item(f"Days on site aren't known yet; {HOW_TO_PLAN}", "")
    yield from item(
        "Net is what the work uses up; packs hold it with its waste, rounded up", ""
    )


def _buy(rows: tuple[BuyRow, ...]) -> Iterator[str]:
    for day, of_day in groupby(rows, key=lambda r: r.day):
        yield ""
        yield "To buy" if day == PLAN_FIRST else f"On site by {day}"
        for row in of_day:
            yield from item(f"{row.title}: {row.buy}")
            waste = f", with {row.waste} waste {row.with_waste}" if row.waste else ""
            yield from item(f"net {row.net}{waste}{_early(row)}", "      ")
            yield from item(f"for: {row.uses}", "      ")


def _early(row: BuyRow) -> str:
    if not row.lead:
        return ""
    first = f", {row.first}" if row.first else ""
    return f"; {row.lead} on site before its first use{first}"


def _tools(buying: Buying) -> Iterator[str]:
    yield ""
    yield "Tools, and the days they are needed"
    for row in tool_rows(buying):
        hire = f" ({row.hire})" if row.hire else ""
        days = "" if row.days == PLAN_FIRST else f": {row.days}"
        yield from item(f"{row.title}{hire}{days}")
        yield from item(f"for: {row.uses}", "      ")


def _rates(rows: tuple[BuyRow, ...]) -> Iterator[str]:
    yield ""
    yield from item(
        "Where the quantities come from; “edit me”: no source, check it", ""
    )
    for row in rows:
        yield from item(row.title)
        for words in row.reckoned:
            yield from item(words, "      ")

"""The page of the manager and the owner: when the stage comes back, how sure, what for."""

from planner.nouns.plan import Plan
from planner.report.drawing.view import View, minutes_between
from planner.report.page.frame import PLAN, PagePart, framed
from planner.report.page.spent import spent
from planner.report.page.stage import (
    bookings_met,
    closed_words,
    holding,
    how_promised,
    returns,
    stage_weeks,
)
from planner.report.words.summary import idle_money, money_words
from planner.units import days_and_hours


def plan_page(plan: Plan) -> bytes:
    """Return the returns, how sure they are, the cost and the stage day by day."""
    view = View(plan, year_said=True)
    told = how_promised(view)
    remarks = tuple(r for r in plan.remarks if f"{r}." not in told)  # each said once
    return framed(
        "plan.html.j2",
        plan,
        file=PLAN,
        parts=(
            PagePart(id="back", title="When the stage comes back"),
            PagePart(id="stage", title="The stage, day by day"),
            PagePart(id="spent", title="How the closure is spent"),
            *(
                (PagePart(id="remarks", title="Noted while reading"),)
                if remarks
                else ()
            ),
        ),
        returns=returns(view),
        closed=closed_words(view),
        closed_for=days_and_hours(minutes_between(*plan.stage.promised_closure)),
        how_promised=told,
        bookings=bookings_met(view),
        cost=_money(plan),
        holding=holding(view),
        weeks=stage_weeks(view),
        spent=spent(view),
        remarks=remarks,
    )


def _money(plan: Plan) -> tuple[str, ...]:
    """Return what the plan costs in all, then its parts, as far as the rates allow."""
    cost, parts = plan.cost, money_words(plan)
    total = sum(round(x) for x in (cost.stage, cost.labour) if x is not None)
    whole = (f"{total:,} {cost.currency} in all".replace("  ", " "),) if parts else ()
    to = "; its days go to the promise of full service" if cost.stage else ""
    return (
        *whole,
        *(f"{p}{to if p.startswith('stage') else ''}" for p in parts),
        *idle_money(cost),
    )

"""What a plan that was made to be kept is told with: which others were weighed."""

from planner.nouns.job import Job
from planner.nouns.odds import Odds
from planner.nouns.plan import CUT_SHORT, MADE_TO_BE_KEPT
from planner.nouns.protection import Offer
from planner.odds.tally import FUTURES
from planner.promise.keeping import KeptPlan
from planner.units import day_words

MOST_OTHERS = 2
NO_BOUND = (
    "what no plan could promise can't be told where readings make the air of the plan's "
    "own weeks"
)
NO_TIME_FOR_BOUND = f"{CUT_SHORT}what no plan could promise wasn't worked out"
NO_OTHER = (
    "no plan was found that is kept earlier than the one that returns the earliest"
)


def kept_words(best: KeptPlan, job: Job) -> tuple[str, ...]:
    """Return remarks on the plans that a plan was chosen from: the earliest, and others.

    Others are those that are cheaper, or have fewer shifts, for a later promise.
    """
    if best.offer == best.unprotected:
        return (NO_OTHER,)
    first = best.unprotected
    if first.planned == best.offer.planned:
        head = "the plan with the shortest planned closure"
    else:
        day = day_words(first.planned, job.zone)
        head = f"the plan that returns the earliest if all goes as planned, {day},"
    others = [o for o in best.trade if o not in (best.offer, first)][:MOST_OTHERS]
    return (
        f"{MADE_TO_BE_KEPT}{head} would be {_told(first, best, job)}",
        *(
            f"{MADE_TO_BE_KEPT}another plan would be {_told(o, best, job)}"
            for o in others
        ),
    )


def cut_short_words(
    why: str, odds: Odds, best: KeptPlan | None, *, keep: bool
) -> tuple[str, ...]:
    """Return a remark on what was left out once the search was over, if anything was.

    `why` is the reason as the engine says it, "" where it isn't over; `keep` says
    whether a plan that is made to be kept was asked for.
    """
    left_out = []
    if keep and best is None:
        left_out.append("no plan that is kept more often was looked for")
    if best is not None and best.cut_short:
        left_out.append("not all plans that may be kept more often were looked at")
    if odds.futures < FUTURES:
        left_out.append(f"{odds.futures:,} futures were played instead of {FUTURES:,}")
    if not odds.threats:
        left_out.append("what threatens the dates wasn't told apart")
    if not why or not left_out:
        return ()
    how = "the search was stopped" if why == "interrupted" else "time was up"
    return (f"{CUT_SHORT}{how}, so {', '.join(left_out)}",)


def _told(offer: Offer, best: KeptPlan, job: Job) -> str:
    """Return an offer in words: closure, promise, days, shifts; what is chosen instead."""
    by = (
        "later than is looked at"
        if offer.promised is None
        else f"by {day_words(offer.promised, job.zone)}"
    )
    days = "" if offer.closed_days is None else f", {offer.closed_days} days closed"
    start = day_words(offer.closed_from, job.zone)
    return (
        f"closed from {start}, back {by} in {best.percent} of 100 cases{days}, "
        f"{offer.shifts} shifts{_instead(offer, best.offer)}{_traded(offer, best.offer, job)}"
    )


def _instead(offer: Offer, chosen: Offer) -> str:
    """Return how many shifts the chosen plan has, where that is another number."""
    return "" if offer.shifts == chosen.shifts else f" instead of {chosen.shifts}"


def _traded(offer: Offer, chosen: Offer, job: Job) -> str:
    """Return what the chosen plan gives for its promise, against another; "" for nothing.

    Days are those of the site's calendar, on which the stage is closed even in part.
    """
    if None in (offer.promised, chosen.promised, offer.closed_days, chosen.closed_days):
        return ""
    one, other = (
        o.promised.astimezone(job.zone).date()
        for o in (chosen, offer)
        if o.promised is not None
    )
    sooner = (other - one).days
    more = (chosen.closed_days or 0) - (offer.closed_days or 0)
    if sooner <= 0:
        return ""
    brings = f"this one brings the promise {_days(sooner)} forward"
    if more > 0:
        return f"; for {_days(more)} more closed {brings}"
    return f"; {brings}, {_days(-more) + ' fewer' if more else 'no more days'} closed"


def _days(count: int) -> str:
    return "1 day" if count == 1 else f"{count} days"

"""Gaps between bookings, planned side by side: what `closures` and `repaint` share."""

from typing import TYPE_CHECKING

from planner.commands.options import Interrupt

if TYPE_CHECKING:
    from planner.usecases.comparing.closures import Choosing


def plan_gaps(
    choosing: "Choosing", stop: Interrupt, begun_s: float, seconds: float | None
) -> None:
    """Plan the gaps until all are done or `stop` is true; tell each on stderr.

    The command began at `begun_s` on the monotonic clock, and may take `seconds`.
    """
    from planner.commands.progress import Counted, shown
    from planner.report.words.choices.closures_text import progress_row
    from planner.usecases.comparing.side_by_side import Together

    zone = choosing.inputs.job.zone
    with shown(begun_s, seconds) as teller, Together(stop) as together:
        count = Counted(teller)
        choosing.plan(
            together,
            lambda one: count.tell(
                progress_row(one, zone),
                choosing.count,
                planned=not (one.too_short or one.too_late),
            ),
        )

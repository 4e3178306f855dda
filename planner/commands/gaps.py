"""Gaps between bookings, planned side by side: what `closures` and `repaint` share."""

import sys
from typing import TYPE_CHECKING

from planner.commands.options import Interrupt

if TYPE_CHECKING:
    from planner.usecases.comparing.closures import Choosing


def plan_gaps(choosing: "Choosing", stop: Interrupt) -> None:
    """Plan the gaps until all are done or `stop` is true; tell each on stderr."""
    from planner.report.words.choices.closures_text import progress_row
    from planner.usecases.comparing.side_by_side import Together

    zone = choosing.inputs.job.zone
    with Together(stop) as together:
        choosing.plan(
            together, lambda one: print(progress_row(one, zone), file=sys.stderr)
        )

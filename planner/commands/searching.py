"""What every command that may search shares: its limits, its progress, its notepad."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from planner.commands.options import Interrupt
from planner.errors import NoPlanError

if TYPE_CHECKING:
    from collections.abc import Callable

    from planner.nouns.case import Case
    from planner.nouns.inputs import Inputs
    from planner.usecases.plan import Choices


@contextmanager
def searching(
    folder: Path,
    stop: Interrupt,
    *,
    seconds: float | None,
    work_limit: float | None,
    begun_s: float,
    job: Path | None = None,
    keep: bool = True,
    case_of: "Callable[[Inputs], Case] | None" = None,
) -> Iterator["Choices"]:
    """Yield the choices of a search whose progress is shown and whose plans are noted.

    `seconds` count from `begun_s`, a moment of the monotonic clock. If the program
    fails, the best plan found by then is kept beside `folder`. If `job` has no plan,
    small changes that leave one are looked for; `case_of` says what is to be planned of
    the job with a change, by default all of it. With `keep` the plan is made to be kept.
    """
    from planner.commands.aside import kept_aside  # loads the solver
    from planner.commands.progress import shown
    from planner.usecases.plan import Choices

    with kept_aside(folder) as note, shown(begun_s, seconds) as tell:
        choices = Choices(
            work_limit=work_limit,
            seconds=seconds,
            since_s=begun_s,
            on_progress=tell.progress,
            on_found=stop.keeping(note),
            stop=stop,
            keep=keep,
            step=tell.step,
        )
        try:
            yield choices
        except NoPlanError as error:
            if job is None:
                raise
            from planner.usecases.comparing.fitting import from_its_start, with_ways_out

            until_s = choices.search().limits.until_s
            case = case_of or from_its_start
            raise with_ways_out(job, error, stop, until_s, case) from None

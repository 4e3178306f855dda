"""How a run ends: the one place where errors become messages and an exit status."""

import errno
import re
import sys
import traceback
from typing import Any

import typer
from typer.core import TyperGroup

from planner.errors import PlannerError, ProgramFaultError

INTERRUPTED = 130  # 128 + SIGINT: Ctrl-C, with nothing to keep
UNREAD = 141  # 128 + SIGPIPE: nobody reads what is printed any more

_TYPERS_OWN: tuple[type[Exception], ...] = (
    typer.Exit,
    typer.Abort,
    *typer.BadParameter.__bases__,  # usage errors, of the click that this typer brings
)

_CONTROL = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069]")

SEND = (
    "please send the lines above to the maintainers, with the job file, its "
    "calendars and its readings; take names and secret links out first"
)


class Ending(TyperGroup):
    """The group of all commands: whatever one of them raises ends the run here."""

    def invoke(self, ctx: Any) -> Any:
        """Run the command that was asked for, and end with the status of its error."""
        try:
            answer = super().invoke(ctx)
            sys.stdout.flush()
        except _TYPERS_OWN:
            raise
        except PlannerError as error:
            _say(error.lines())
            raise typer.Exit(error.exit_status) from None
        except BrokenPipeError:
            raise typer.Exit(UNREAD) from None
        except KeyboardInterrupt:
            raise _interrupted() from None
        except Exception as error:  # noqa: BLE001  the one place where faults end
            if _comes_of_interrupt(error):
                raise _interrupted() from None
            if isinstance(error, OSError) and error.errno == errno.ENOSPC:
                _say(("the disk is full, so the output can't be written",))
                raise typer.Exit(PlannerError.exit_status) from None
            _say(fault_lines(error))
            raise typer.Exit(ProgramFaultError.exit_status) from None
        return answer


def _interrupted() -> typer.Exit:
    _say(("stopped",))
    return typer.Exit(INTERRUPTED)


def _comes_of_interrupt(error: BaseException | None) -> bool:
    """Tell whether a Ctrl-C was made into this error by what it met."""
    while error is not None and not isinstance(error, KeyboardInterrupt):
        error = error.__cause__ or error.__context__
    return error is not None


def fault_lines(error: Exception) -> tuple[str, ...]:
    """Return what is said of a fault of the program, the traceback first.

    Notes on the error (PEP 678) are in the user's words, and say where a plan is kept.
    """
    trace = traceback.TracebackException.from_exception(error)
    trace.__notes__ = []
    what = (
        error.lines()
        if isinstance(error, ProgramFaultError)
        else (f"{type(error).__name__}: {error}",)
    )
    return (
        *"".join(trace.format()).splitlines(),
        "",
        "This is a fault of the program, not of your files, and it doesn't mean that "
        "there is no plan.",
        *what,
        *getattr(error, "__notes__", ()),
        SEND,
    )


def _say(lines: tuple[str, ...]) -> None:
    """Print lines; control characters of names and values don't reach the terminal."""
    for line in lines:
        print(_CONTROL.sub(lambda m: repr(m[0])[1:-1], line), file=sys.stderr)

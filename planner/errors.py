"""Errors that the user can put right, and the one that only a maintainer can.

The tree, with the exit status the command ends with::

    PlannerError            2
    ├── JobFileError        2  the job file, all its faults together
    ├── CalendarError       2  a calendar that can't be read in full
    ├── ReadingsError       2  a file of air readings
    ├── OutOfRangeError     2  beyond what the source of a formula covers
    ├── CycleError          2  tasks that wait for each other in a loop
    ├── OutputError         2  a folder or file that can't be written
    ├── OutputsError        2  several of them, told together
    ├── NoPlanError         1  the rules leave no plan
    └── TimeUpError         3  the time ran out before a plan was found
    ProgramFaultError      70  a plan that fails its check, a broken invariant

A `ProgramFaultError`, and any exception that isn't in this tree, is a fault of the
program: `planner/commands/ending.py` says so, and never as if there were no plan.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One thing that is wrong: where it stands, what is wrong, what to do."""

    where: str
    message: str
    hint: str = ""

    def __str__(self) -> str:
        """Return the fault as the line a person reads."""
        tail = f"; {self.hint}" if self.hint else ""
        return f"{self.where}: {self.message}{tail}"


class PlannerError(Exception):
    """The root of all errors that a user can put right."""

    code = "planner"
    exit_status = 2

    def __init__(self, message: str, *, where: str = "", hint: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.where = where
        self.hint = hint

    def lines(self) -> tuple[str, ...]:
        """Return what is printed, a line each."""
        head = f"{self.where}: {self.message}" if self.where else self.message
        return (head, f"  {self.hint}") if self.hint else (head,)


class FaultsError(PlannerError):
    """Several faults of one file, reported together."""

    def __init__(self, faults: tuple[Fault, ...], *, file: str) -> None:
        count = "1 fault" if len(faults) == 1 else f"{len(faults)} faults"
        super().__init__(f"{count}", where=file)
        self.faults = faults

    def lines(self) -> tuple[str, ...]:
        """Return a headline and a line for each fault."""
        return (f"{self.where}: {self.message}", *(f"  {f}" for f in self.faults))


class JobFileError(FaultsError):
    """The job file says something that can't be understood or can't be."""

    code = "job-file"


class CalendarError(FaultsError):
    """A calendar can't be read in full, so its owner's hours are unknown."""

    code = "calendar"


class ReadingsError(FaultsError):
    """A file of air readings can't be read in full."""

    code = "readings"


class OutOfRangeError(PlannerError):
    """A value lies beyond what the source of a formula covers."""

    code = "out-of-range"


class CycleError(PlannerError):
    """Tasks wait for each other in a loop."""

    code = "cycle"


class OutputError(PlannerError):
    """A folder or file can't be written."""

    code = "output"


class OutputsError(FaultsError):
    """Several files can't be written, told together."""

    code = "output"

    def lines(self) -> tuple[str, ...]:
        """Return a line for each file."""
        return tuple(map(str, self.faults))


class NoPlanError(PlannerError):
    """The rules together leave no plan; names the rules in conflict.

    `needed` says how much the work needs of what clashes, and how much there is.
    `not_shown` says what of the conflict couldn't be shown, so that nothing is blamed
    that may be innocent. `facts` name the kinds of what clashes, for those who look for
    a way out; `fits` are changes, in words, with each of which a plan was found.
    """

    code = "no-plan"
    exit_status = 1

    def __init__(
        self,
        message: str,
        *,
        conflict: tuple[str, ...],
        helps: tuple[str, ...] = (),
        not_shown: str = "",
        facts: tuple[str, ...] = (),
        needed: tuple[str, ...] = (),
        fits: tuple[str, ...] = (),
    ) -> None:
        super().__init__(message)
        self.conflict = conflict
        self.helps = helps
        self.not_shown = not_shown
        self.facts = facts
        self.needed = needed
        self.fits = fits

    def with_fits(self, fits: tuple[str, ...]) -> "NoPlanError":
        """Return the same error with changes that were found to leave a plan."""
        return NoPlanError(
            self.message,
            conflict=self.conflict,
            helps=self.helps,
            not_shown=self.not_shown,
            facts=self.facts,
            needed=self.needed,
            fits=fits,
        )

    def lines(self) -> tuple[str, ...]:
        """Return the headline, what clashes, what is needed, what would help or does."""
        head = "perhaps in conflict" if self.not_shown else "in conflict"
        clash = tuple(f"  {head}: {c}" for c in self.conflict)
        helps = tuple(f"  would help: {h}" for h in self.helps)
        return (
            self.message,
            *clash,
            *(f"  needed: {n}" for n in self.needed),
            *helps,
            *(f"  makes it fit: {f}" for f in self.fits),
            *((f"  {self.not_shown}",) if self.not_shown else ()),
        )


class TimeUpError(PlannerError):
    """The time ran out before any plan was found; there may be one."""

    code = "time-up"
    exit_status = 3


class ProgramFaultError(Exception):
    """The program caught itself at a fault: nothing in the user's files is wrong.

    Raised when a finished plan breaks a rule or an invariant doesn't hold. The plan
    is written nowhere in place of a checked one.

    Parameters
    ----------
    message
        What went wrong, a sentence without a full stop.
    found
        The faults found, each in words that a person can compare with the plan.
    """

    exit_status = 70  # EX_SOFTWARE, "internal software error", of BSD's sysexits.h

    def __init__(self, message: str, *, found: tuple[str, ...] = ()) -> None:
        super().__init__("; ".join((message, *found)))
        self.message = message
        self.found = found

    def lines(self) -> tuple[str, ...]:
        """Return what is printed, a line each."""
        return (self.message, *(f"  {words}" for words in self.found))

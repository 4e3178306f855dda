"""What a machine lacks for some of the tests: one line that says so at the end of a run.

A test is skipped only for what the machine lacks: a browser, a library, a program. With
`CI=true` such a run fails, unless `MAY_LACK` names what is missing, parted by commas.
"""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class NotRun:
    """The tests that weren't run: how many for which reason, and what is let pass."""

    reasons: tuple[tuple[str, int], ...]
    let_pass: tuple[str, ...] = ()

    @property
    def refused(self) -> tuple[str, ...]:
        """The reasons that nothing lets pass."""
        return tuple(
            reason
            for reason, _ in self.reasons
            if not any(name in reason for name in self.let_pass)
        )

    @property
    def line(self) -> str:
        """What is said of them."""
        said = "; ".join(f"{reason} (tests: {count})" for reason, count in self.reasons)
        names = ", ".join(self.let_pass)
        return f"Not run here: {said}" + (f"; MAY_LACK: {names}" if names else "")


def not_run(reasons: Iterable[str], env: Mapping[str, str]) -> NotRun:
    """Return what wasn't run, by the reasons of the skipped tests, one a test."""
    counts = Counter(reason.removeprefix("Skipped: ") for reason in reasons)
    names = (name.strip() for name in env.get("MAY_LACK", "").split(","))
    return NotRun(
        reasons=tuple(sorted(counts.items())), let_pass=tuple(filter(None, names))
    )

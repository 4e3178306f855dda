"""What is known of a wait because somebody looked at the coat."""

from dataclasses import dataclass

FOUND = "found:"  # how the names of look-ups begin for such waits


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """When a wait is over after a coat that was looked at, and whether it was dry.

    `seen` is the tick in which it was looked at.
    """

    over: int
    dry: bool
    seen: int


def plain_name(task: str, wait: str) -> str:
    """Return the name of a wait without what was found of one task's coat."""
    return wait.removeprefix(f"{FOUND}{task}:")

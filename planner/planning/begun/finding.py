"""What is known of a wait because somebody looked at the coat."""

from dataclasses import dataclass

FOUND = "found:"  # how the names of look-ups begin for such waits


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """When a wait is over after a coat that was looked at, and whether it was dry."""

    over: int
    dry: bool

"""How the closure's hours divide into parts; each tick is counted exactly once."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from planner.hours.spans import Spans
from planner.nouns.product import HardeningWay

WORKING = "working"
DRYING = "drying"
HARDENING = "setting or curing"
PEOPLE = "waiting for people"
STAGE = "waiting for the stage or quiet hours"
FUMES = "clearing of fumes"
TESTING = "waiting for a test"
AIR = "waiting for the air"
OFF = "nights and days off"
PARTS = (WORKING, DRYING, HARDENING, FUMES, TESTING, PEOPLE, STAGE, AIR, OFF)

OF_WAY = {
    HardeningWay.DRIES: DRYING,
    HardeningWay.SETS: HARDENING,
    HardeningWay.CURES: HARDENING,
    HardeningWay.CLEARS: FUMES,
    HardeningWay.LIES: TESTING,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Timeline:
    """What divides the ticks of a closure.

    Each tick takes the first that covers it: work by anybody; a wait that
    holds the date; hours in which nobody is open; a held stretch of the chain (by
    part). What is left is waiting for people.
    """

    worked: Spans
    waits: Sequence[tuple[HardeningWay, Spans]]
    anybody_open: Spans
    held: Sequence[tuple[str, Spans]]


def divide(start: int, end: int, line: Timeline) -> Mapping[str, int]:
    """Return the ticks of [start, end) in each part, all parts named."""
    rest = Spans.of([(start, end)])
    out = dict.fromkeys(PARTS, 0)

    def take(part: str, ticks: Spans) -> None:
        nonlocal rest
        out[part] += (rest & ticks).total
        rest = rest - ticks

    take(WORKING, line.worked)
    for way, ticks in line.waits:
        take(OF_WAY[way], ticks)
    take(OFF, rest - line.anybody_open)
    for part, ticks in line.held:
        take(part, ticks)
    take(PEOPLE, rest)
    return out

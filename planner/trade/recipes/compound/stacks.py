"""Coats laid over one another before they are dry: what is wet together.

Setting compound bears the next coat once it has set, its water still in it. That water
leaves through what lies over it, and what lies over it dries no sooner: the stack is
sanded once all of it is dry.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

MOST_WET = 4  # coats wet on one another; a quarter of an inch, the drying law's end


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """A coat: its labour rate, its product, its number, and what the next waits for.

    `whole` coats go over everything that is primed, the others over joints alone.
    """

    rate: str
    product: str
    number: int
    gate: str  # the stage of hardening that the next coat waits for
    whole: bool = False


def gated(layers: Sequence[Layer]) -> list[Layer]:
    """Return the coats with what the next one waits for, dry where set won't do.

    A coat over the whole face goes over dry joints, and no more than `MOST_WET` coats
    are wet on one another.
    """
    out: list[Layer] = []
    wet = 1
    for one, two in pairwise([*layers, None]):
        assert one is not None
        dry = one.gate != "set" or two is None or two.whole or wet == MOST_WET
        out.append(replace(one, gate="dry" if dry else "set"))
        wet = 1 if dry else wet + 1
    return out


def stack(layers: Sequence[Layer], at: int) -> range:
    """Return the places of the coats that are wet together with the one at a place."""
    first = last = at
    while first > 0 and layers[first - 1].gate == "set":
        first -= 1
    while layers[last].gate == "set":
        last += 1
    return range(first, last + 1)

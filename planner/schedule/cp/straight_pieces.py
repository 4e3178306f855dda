"""A function on whole numbers as a few straight pieces."""

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class StraightPiece:
    """From `first` to `last`, the function is slope · x + offset."""

    first: int
    last: int
    slope: int
    offset: int


def straight_pieces(
    xs: Sequence[int], values: Sequence[int]
) -> tuple[StraightPiece, ...]:
    """Return pieces, taken greedily from the left, that give each value exactly.

    Parameters
    ----------
    xs
        Rising whole numbers at which the function is needed, at least one.
    values
        Its value at each.

    Examples
    --------
    >>> [(p.first, p.last, p.slope) for p in straight_pieces([0, 1, 2, 5], [7, 7, 7, 8])]
    [(0, 2, 0), (5, 5, 0)]
    """
    pieces: list[StraightPiece] = []
    at, count = 0, len(xs)
    while at < count:
        begin, slope = at, 0
        if at + 1 < count:
            rise, run = values[at + 1] - values[at], xs[at + 1] - xs[at]
            slope = rise // run if rise % run == 0 else 0
        offset = values[at] - slope * xs[at]
        while at < count and values[at] == slope * xs[at] + offset:
            at += 1
        if at == begin + 1:
            slope, offset = 0, values[begin]
        pieces.append(StraightPiece(xs[begin], xs[at - 1], slope, offset))
    return tuple(pieces)

"""Pieces cut from standard sheets: a first-fit shelf rule, and what is left over.

The rule: pieces lie along the sheet. The widest come first (of equal ones the
longest), each onto the first shelf of the first sheet that still holds it; a shelf is
as wide as its first piece; where no shelf holds a piece, a new one is begun beside
the last, else a new sheet. So each sheet is ripped along first, then cut across. It
isn't always the fewest sheets, but it is never wrong: every layout is checked.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations

KERF_MM = 3.2  # 1/8 in, a circular saw's; from memory, edit me
KEPT_FROM_MM = 50.0  # an offcut narrower or shorter than this is waste; assumption
_SAME_MM = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardSheet:
    """A standard sheet."""

    name: str
    length_mm: float
    width_mm: float

    def takes(self, length_mm: float, width_mm: float) -> bool:
        """Tell whether a piece can be cut from it, one way or the other."""
        long, wide = max(length_mm, width_mm), min(length_mm, width_mm)
        return long <= self.length_mm + _SAME_MM and wide <= self.width_mm + _SAME_MM


FEET_SHEET = BoardSheet(name="4 ft by 8 ft", length_mm=2438.4, width_mm=1219.2)
METRIC_SHEET = BoardSheet(name="1200 by 2400 mm", length_mm=2400.0, width_mm=1200.0)
SHEETS = (FEET_SHEET, METRIC_SHEET)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """A piece to be cut, whichever way it lies."""

    label: str
    length_mm: float
    width_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """A piece or an offcut on a sheet: along it and across it, from a corner."""

    label: str
    along_mm: float
    across_mm: float
    length_mm: float
    width_mm: float

    @property
    def area_m2(self) -> float:
        """The area in m²."""
        return self.length_mm * self.width_mm * 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class CutSheet:
    """A sheet with what is cut from it and the offcuts worth keeping."""

    sheet: BoardSheet
    pieces: tuple[Placed, ...]
    offcuts: tuple[Placed, ...]
    rips_mm: tuple[float, ...]  # where it is ripped along, from one edge


@dataclass(slots=True)
class _Shelf:
    across: float
    width: float
    used: float = 0.0


@dataclass(slots=True)
class _Open:
    shelves: list[_Shelf]
    pieces: list[Placed]


def nested(
    wanted: Iterable[Wanted], sheet: BoardSheet, *, kerf_mm: float = KERF_MM
) -> tuple[CutSheet, ...]:
    """Return the sheets that all pieces are cut from.

    Raises
    ------
    ValueError
        When a piece is larger than a sheet.
    """
    laid = sorted(
        (_along(w) for w in wanted), key=lambda w: (-w.width_mm, -w.length_mm)
    )
    sheets: list[_Open] = []
    for piece in laid:
        if not sheet.takes(piece.length_mm, piece.width_mm):
            raise ValueError(
                f"{piece.label}: {piece.length_mm:.0f} x {piece.width_mm:.0f} mm is "
                f"larger than a sheet of {sheet.name}"
            )
        if not any(_put(one, piece, sheet, kerf_mm) for one in sheets):
            sheets.append(_Open(shelves=[], pieces=[]))
            _put(sheets[-1], piece, sheet, kerf_mm)
    made = tuple(_closed(one, sheet, kerf_mm) for one in sheets)
    for one in made:
        check(one)
    return made


def check(cut: CutSheet) -> None:
    """Raise if pieces or offcuts overlap or stick out of their sheet."""
    everything = (*cut.pieces, *cut.offcuts)
    for p in everything:
        inside = (
            p.along_mm >= -_SAME_MM
            and p.across_mm >= -_SAME_MM
            and p.along_mm + p.length_mm <= cut.sheet.length_mm + _SAME_MM
            and p.across_mm + p.width_mm <= cut.sheet.width_mm + _SAME_MM
        )
        if not inside:
            raise AssertionError(f"{p} sticks out of the sheet")
    for a, b in combinations(everything, 2):
        apart = (
            a.along_mm + a.length_mm <= b.along_mm + _SAME_MM
            or b.along_mm + b.length_mm <= a.along_mm + _SAME_MM
            or a.across_mm + a.width_mm <= b.across_mm + _SAME_MM
            or b.across_mm + b.width_mm <= a.across_mm + _SAME_MM
        )
        if not apart:
            raise AssertionError(f"{a} lies over {b}")


def _along(piece: Wanted) -> Wanted:
    long = max(piece.length_mm, piece.width_mm)
    wide = min(piece.length_mm, piece.width_mm)
    return Wanted(label=piece.label, length_mm=long, width_mm=wide)


def _put(one: _Open, piece: Wanted, sheet: BoardSheet, kerf: float) -> bool:
    """Put a piece onto a sheet if it still holds it; tell whether it does."""
    for shelf in one.shelves:
        fits = shelf.used + piece.length_mm <= sheet.length_mm + _SAME_MM
        if fits and piece.width_mm <= shelf.width + _SAME_MM:
            _lay(one, shelf, piece, kerf)
            return True
    across = 0.0
    if one.shelves:
        last = one.shelves[-1]
        across = last.across + last.width + kerf
    if across + piece.width_mm > sheet.width_mm + _SAME_MM:
        return False
    one.shelves.append(_Shelf(across=across, width=piece.width_mm))
    _lay(one, one.shelves[-1], piece, kerf)
    return True


def _lay(one: _Open, shelf: _Shelf, piece: Wanted, kerf: float) -> None:
    one.pieces.append(
        Placed(
            label=piece.label,
            along_mm=shelf.used,
            across_mm=shelf.across,
            length_mm=piece.length_mm,
            width_mm=piece.width_mm,
        )
    )
    shelf.used += piece.length_mm + kerf


def _closed(one: _Open, sheet: BoardSheet, kerf: float) -> CutSheet:
    last = one.shelves[-1]
    across = last.across + last.width + kerf
    ends = [(s.used, s.across, sheet.length_mm - s.used, s.width) for s in one.shelves]
    rest = [(0.0, across, sheet.length_mm, sheet.width_mm - across)]
    beside = [
        (p.along_mm, p.across_mm + p.width_mm + kerf, p.length_mm, shelf.width
         - p.width_mm - kerf)
        for shelf in one.shelves
        for p in one.pieces
        if p.across_mm == shelf.across
    ]  # fmt: skip
    kept = [e for e in (*ends, *beside, *rest) if min(e[2], e[3]) >= KEPT_FROM_MM]
    offcuts = tuple(
        Placed(label="offcut", along_mm=a, across_mm=c, length_mm=length, width_mm=wide)
        for a, c, length, wide in kept
    )
    return CutSheet(
        sheet=sheet,
        pieces=tuple(one.pieces),
        offcuts=offcuts,
        rips_mm=_rips(one.shelves, sheet),
    )


def _rips(shelves: Sequence[_Shelf], sheet: BoardSheet) -> tuple[float, ...]:
    edges = [s.across + s.width for s in shelves]
    return tuple(e for e in edges if e < sheet.width_mm - _SAME_MM)


def cutting_lines(
    sheets: Sequence[CutSheet], words: Callable[[float], str]
) -> tuple[str, ...]:
    """Return the cutting list, a line each; `words` says a length."""
    out: list[str] = []
    for n, one in enumerate(sheets, 1):
        pieces = ", ".join(
            f"{p.label} {words(p.length_mm)} by {words(p.width_mm)}" for p in one.pieces
        )
        out.append(f"sheet {n} ({one.sheet.name}): {pieces}")
        if one.offcuts:
            rest = ", ".join(
                f"{words(p.length_mm)} by {words(p.width_mm)}" for p in one.offcuts
            )
            out.append(f"  left over: {rest}")
    return tuple(out)

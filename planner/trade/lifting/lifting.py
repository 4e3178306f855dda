"""What is lifted in a build, how heavy it is, and how many people a lift needs.

The limit is the recommended weight limit of the revised NIOSH lifting equation. How
a piece is held is assumed, and said beside each lift; the user's own look at the work
and local rules come first.

References
----------
.. [1] Waters, Putz-Anderson and Garg, "Applications Manual for the Revised NIOSH
   Lifting Equation", DHHS (NIOSH) 94-110, revised 9/2021: the equation in section
   1.3; the ranges and the rule H = 25 + W/2 cm (V below 25 cm) in section 1.3.1.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from planner.measures import Units
from planner.nouns.job import Kit
from planner.nouns.told.saying import (
    PlaceKind,
    Saying,
    counting,
    marked,
    measured,
    number_of,
    saying,
    text,
)
from planner.trade.geometry import surfaces
from planner.trade.takeoff import Bay, TakeOff

LOAD_CONSTANT_KG = 23.0  # [1]
NEAREST_CM, FARTHEST_CM = 25.0, 63.0  # [1]: H
HIGHEST_CM = 175.0  # [1]: V
SHORTEST_CM = 25.0  # [1]: D
WIDEST_DEG = 135.0  # [1]: A
ONE_A_MINUTE = 0.94  # [1], table 5: a lift a minute, up to an hour
FAIR_LOW, FAIR_HIGH = 0.95, 1.0  # [1], table 7: fair grip below 75 cm, and from there
KNUCKLE_CM = 75.0  # [1]: V at which a lift is easiest
PAIR = 2  # people at least, as modules are bulky; common practice, no source
MOST = 4  # people who find room around a piece; common practice, no source
IN_A_CRATE = 6  # straight modules in a crate; assumption, edit me

BY_HAND, SINGLY, HOIST = "by hand", "singly", "hoist"  # as [methods] says it

CAUTIONS = (
    "The limits are the US NIOSH equation's for an assumed posture, not a medical or legal "
    "limit: look at the lift, and go by local rules where they ask for less",
    "Weigh one of each piece: only the straight modules' mass is given, the others are "
    "taken as heavy for their face as those",
    "With two or more, lift on one word, with a clear path; the equation was made for "
    "one person, each is counted with an equal share",
    "Not for lifts from a ladder, over steps, or with a wet or slippery floor",
)


def weight_limit_kg(
    *,
    h_cm: float,
    v_cm: float,
    d_cm: float,
    a_deg: float = 0.0,
    fm: float = 1.0,
    cm: float = 1.0,
) -> float:
    """Return the recommended weight limit of a two-handed lift.

    RWL = 23 kg · HM · VM · DM · AM · FM · CM, with HM = 25/H, VM = 1 - 0.003·|V - 75|,
    DM = 0.82 + 4.5/D and AM = 1 - 0.0032·A.

    Parameters
    ----------
    h_cm : float
        Hands from the ankles, level. [cm], 25 at least; 0 kg beyond 63.
    v_cm : float
        Hands above the floor at the start. [cm]; 0 kg above 175.
    d_cm : float
        How far up or down it goes. [cm], 25 at least; 0 kg beyond 175.
    a_deg : float
        Twist of the body. [°]; 0 kg beyond 135.
    fm, cm : float
        Multipliers for how often and for the grip, from the manual's tables.

    Returns
    -------
    float
        The limit. [kg]

    References
    ----------
    DHHS (NIOSH) 94-110 (revised 9/2021), section 1.3.
    """
    beyond = (
        h_cm > FARTHEST_CM
        or not 0.0 <= v_cm <= HIGHEST_CM
        or d_cm > HIGHEST_CM
        or a_deg > WIDEST_DEG
    )
    if beyond:
        return 0.0
    hm = NEAREST_CM / max(h_cm, NEAREST_CM)
    vm = 1.0 - 0.003 * abs(v_cm - KNUCKLE_CM)
    dm = min(0.82 + 4.5 / max(d_cm, SHORTEST_CM), 1.0)
    am = 1.0 - 0.0032 * a_deg
    return LOAD_CONSTANT_KG * hm * vm * dm * am * fm * cm


@dataclass(frozen=True, slots=True, kw_only=True)
class Lift:
    """A lift of the build: what, how heavy, how held, how many people it takes.

    `index` is the mass over the limit for one person; up to 1 one person could lift
    it, but pieces are bulky, so two do. `people` is None where no team of four or
    fewer keeps each share to 1; a hoist takes two, who steady the piece. `phases` are
    the kinds of work that lift it, in `bays`.
    """

    what: str
    count: int
    mass_kg: float
    held: str
    limit_kg: float
    people: int | None
    phases: tuple[str, ...]
    bays: tuple[str, ...]
    hoisted: bool = False
    counted: Saying | None = None  # `what`, where a number stands in it

    def words(self, units: Units) -> str:
        """Return the lift as a task says it: what, its mass, how many people."""
        return self.sayings(units)[-1].text

    def sayings(self, units: Units) -> tuple[Saying, ...]:
        """Return the same as what it is put together of; all of it comes last."""
        whole = saying(
            "{what}, {mass}: {people}",
            text("what", self.what),
            measured("mass", PlaceKind.MASS, self.mass_kg, units),
            text("people", _people_words(self)),
        )
        return (*((self.counted,) if self.counted else ()), whole)

    @property
    def index(self) -> float:
        """The lifting index for one person."""
        return self.mass_kg / self.limit_kg if self.limit_kg else math.inf


@dataclass(frozen=True, slots=True, kw_only=True)
class Crate:
    """A crate's contents and their mass, without the crate itself."""

    what: str
    count: int
    mass_kg: float


def piece_masses_kg(kit: Kit) -> tuple[float, float, float]:
    """Return the masses of a straight module, a corner piece and a whole upright.

    Only the first is given: the others have the same mass per area of face.
    """
    straight_m2 = surfaces.developed_mm(kit) * kit.module_width_mm * 1e-6
    per_m2 = kit.module_mass_kg / straight_m2
    upright_m2 = surfaces.upright_developed_mm(kit) * kit.upright_height_mm * 1e-6
    return (
        kit.module_mass_kg,
        per_m2 * surfaces.corner_piece_m2(kit),
        per_m2 * upright_m2,
    )


def crates(
    takeoff: TakeOff, kit: Kit, *, in_a_crate: int = IN_A_CRATE
) -> tuple[Crate, ...]:
    """Return the crates as they may come: straight modules, corner pieces, uprights."""
    straight, piece, upright = piece_masses_kg(kit)
    counts = (
        (
            "straight modules",
            sum(b.modules - b.corner_pieces for b in takeoff.built),
            straight,
        ),
        ("corner pieces", sum(b.corner_pieces for b in takeoff.built), piece),
        ("upright corner modules", sum(b.uprights for b in takeoff.built), upright),
    )
    out: list[Crate] = []
    for what, count, mass in counts:
        for start in range(0, count, in_a_crate):
            here = min(in_a_crate, count - start)
            out.append(Crate(what=what, count=here, mass_kg=here * mass))
    return tuple(out)


def lifts(takeoff: TakeOff, kit: Kit, lifting: str = BY_HAND) -> tuple[Lift, ...]:
    """Return every kind of lift of a build, the pieces counted.

    Pieces are taken from the floor, held flat against the body; a column of uprights
    is lifted from the floor onto the corner piece.

    Parameters
    ----------
    takeoff, kit
        The room and its pieces.
    lifting
        How the crew lifts: `BY_HAND`, `SINGLY` or `HOIST`.
    """
    straight, piece, upright = piece_masses_kg(kit)
    deep_cm = surfaces.held_depth_mm(kit) / 10.0
    runs = [b for b in takeoff.built if not b.corner_pieces]
    corners = [b for b in takeoff.built if b.corner_pieces]
    stacked = [b for b in corners if b.uprights]
    joined = "set-corner" if lifting == SINGLY else "join-uprights"
    out = [
        _lift(
            marked("straight module, floor to hands"),
            sum(b.modules for b in runs),
            straight,
            (deep_cm, KNUCKLE_CM),
            ("intake", "join", "set"),
            runs,
        ),
        _lift(
            marked("corner piece, floor to hands"),
            len(corners),
            piece,
            (_corner_depth_cm(kit), KNUCKLE_CM),
            ("intake", "set-corner"),
            corners,
        ),
        _lift(
            marked("upright, floor to hands"),
            sum(b.uprights for b in stacked),
            upright,
            (deep_cm, KNUCKLE_CM),
            ("intake", joined),
            stacked,
        ),
    ]
    top = (deep_cm, kit.corner_height_mm / 10.0)
    if lifting == SINGLY:
        what = marked("upright, floor or platform up the height of the corner piece")
        count = sum(b.uprights for b in stacked)
        out.append(_lift(what, count, upright, top, ("set-corner",), stacked))
    else:
        for count, column_kg in _columns(takeoff, kit, upright):
            here = [b for b in stacked if b.uprights == count]
            column = _column_words(count)
            one = _lift(column.text, len(here), column_kg, top, ("set-corner",), here)
            out.append(replace(one, counted=column))
    found = tuple(x for x in out if x.count)
    return tuple(_hoisted(x) for x in found) if lifting == HOIST else found


def _column_words(count: int) -> Saying:
    """Return a column of so many uprights, and how far it is lifted."""
    return counting(
        "upright, floor to corner piece's top",
        "{count} uprights bolted together, floor to corner piece's top",
        number_of("count", count),
    )


def _hoisted(lift: Lift) -> Lift:
    """Return a lift as a hoist does it, where two people can't do it by hand."""
    if lift.people is not None and lift.people <= PAIR:
        return lift
    return replace(lift, people=PAIR, hoisted=True)


def _columns(
    takeoff: TakeOff, kit: Kit, upright_kg: float
) -> tuple[tuple[int, float], ...]:
    """Return each kind of column: how many uprights, and their mass as trimmed."""
    found: dict[int, float] = {}
    for b in takeoff.built:
        if b.uprights:
            whole = b.uprights - (b.trimmed_upright_mm > 0.0)
            share = b.trimmed_upright_mm / kit.upright_height_mm
            found[b.uprights] = (whole + share) * upright_kg
    return tuple(sorted(found.items()))


def _corner_depth_cm(kit: Kit) -> float:
    """Return how deep a corner piece is across the line out of its corner."""
    middle = 3.0 * kit.radius_mm * (1.0 - math.sqrt(1.0 / 3.0))
    farthest = kit.corner_leg_mm + max(kit.corner_leg_mm, kit.corner_height_mm)
    return (farthest - middle) / math.sqrt(3.0) / 10.0


def _lift(
    what: str,
    count: int,
    mass_kg: float,
    posture_cm: tuple[float, float],
    phases: tuple[str, ...],
    bays: Sequence[Bay],
) -> Lift:
    """Return a lift; the posture is how deep the piece is held, and how far up."""
    deep_cm, up_cm = posture_cm
    h_cm = max(25.0 + deep_cm / 2.0, NEAREST_CM)  # [1], section 1.3.1, V below 25 cm
    limit = weight_limit_kg(
        h_cm=h_cm, v_cm=0.0, d_cm=up_cm, fm=ONE_A_MINUTE, cm=FAIR_LOW
    )
    end_cm = h_cm - 5.0  # [1], the same, V of 25 cm and more
    end = weight_limit_kg(
        h_cm=end_cm,
        v_cm=up_cm,
        d_cm=up_cm,
        fm=ONE_A_MINUTE,
        cm=FAIR_HIGH if up_cm >= KNUCKLE_CM else FAIR_LOW,
    )
    lower = min(limit, end)
    return Lift(
        what=what,
        count=count,
        mass_kg=mass_kg,
        held=(
            f"hands {h_cm:.0f} cm from the ankles, from the floor up {up_cm:.0f} cm, "
            "one a minute, fair grip"
        ),
        limit_kg=lower,
        people=next((n for n in range(PAIR, MOST + 1) if mass_kg / n <= lower), None),
        phases=phases,
        bays=tuple(b.id for b in bays),
    )


def lifting_lines(found: tuple[Lift, ...], units: Units) -> tuple[str, ...]:
    """Return each lift in words: mass, limit, index, people."""
    return tuple(
        f"{x.count} x {x.what}: {units.mass(x.mass_kg)}; limit for one "
        f"{units.mass(x.limit_kg)}, index {_index_words(x)}: {_people_words(x)} "
        f"({x.held})"
        for x in found
    )


def _index_words(lift: Lift) -> str:
    return f"{lift.index:.2f}" if lift.limit_kg else "beyond the equation's range"


def _people_words(lift: Lift) -> str:
    if lift.hoisted:
        return marked("by hoist, two people steady it")
    if lift.people is None:
        return marked("not by hand in this posture: use a hoist, or change the posture")
    in_words = marked("two people"), marked("three people"), marked("four people")
    return in_words[lift.people - PAIR]

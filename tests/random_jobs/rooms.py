"""Random rooms, kits and methods that go together, in either system of units."""

import tomllib
from dataclasses import dataclass
from random import Random

from tests.random_jobs.toml import Table
from tests.support.rooms import FEET_KIT, FLUSH_KIT, METRIC_KIT

WALLS = (
    "board on wood studs",
    "board on wood studs",
    "board on steel studs",
    "masonry",
)

FIRST_STUDS = ("0 in", "7 in", "11 1/4 in", "250 mm", "400 mm", "35 mm")


def _length(r: Random, low_m: float, high_m: float, *, feet: bool) -> str:
    """Return a length between two, in words of one system of units."""
    metres = r.uniform(low_m, high_m)
    if not feet:
        return r.choice((f"{metres:.2f} m", f"{metres * 1000:.0f} mm"))
    inches = round(metres / 0.0254)
    whole, rest = divmod(inches, 12)
    return r.choice((f"{whole} ft {rest} in", f"{inches} 1/2 in", f"{whole + 1} ft"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """The stage, the kit and whether lengths are in feet."""

    stage: Table
    kit: Table
    feet: bool


def room(r: Random, *, small: bool) -> Room:
    """Return a room of one to four runs with none to three corners."""
    feet = r.random() < 0.5
    kit = tomllib.loads(FEET_KIT if feet else r.choice((METRIC_KIT, FLUSH_KIT)))
    wall = r.choice(WALLS)
    runs = 1 if small else r.choices((1, 2, 3, 4), (10, 6, 2, 2))[0]
    corners = [i for i in range(runs - 1) if r.random() < 0.85]
    low, high = (
        (1.5, 4.0)
        if small
        else r.choices(((1.8, 3.6), (2.4, 6.0), (4.0, 14.0)), (6, 4, 1))[0]
    )
    spacing = r.choice(("16 in", "24 in") if feet else ("400 mm", "600 mm", "625 mm"))
    rows: list[Table] = []
    for i in range(runs):
        row: Table = {
            "name": f"{r.choice(('north', 'Back wall', 'côté', 'W'))} {i + 1}",
            "length": _length(r, low, high, feet=feet),
        }
        if r.random() < 0.4:
            row["first_stud"] = r.choice(FIRST_STUDS)
        rows.append(row)
    for i in corners:
        rows[i]["meets"] = rows[i + 1]["name"]
        for row in rows[i : i + 2]:  # legs on either side, and room between
            if not small:
                row["length"] = _length(r, max(low, 2.6), max(high, 3.5), feet=feet)
    if len(corners) == 3:  # the fourth run ends before the cove of the first
        rows[1]["length"] = _length(r, 4.2, 9.0, feet=feet)
        rows[3]["length"] = _length(r, 1.6, 2.6, feet=feet)
    stage: Table = {
        "name": "Tern Street Stage",
        "ceiling": _length(r, 2.45, 4.5, feet=feet),
        "wall": wall,
        "stud_spacing": spacing,
        "run": rows,
    }
    if r.random() < 0.6:
        stage["apron"] = r.choice(("0 mm", "600 mm", "2 m", "8 ft", "12 ft", "3.6 m"))
    if r.random() < 0.25:
        stage["behind"] = [
            {
                "what": r.choice(("outlet", "switch", "pipe", "duct")),
                "run": r.choice(rows)["name"],
                "from_start": r.choice(("0 mm", "10 in", "1 m")),
                "height": "300 mm",
            }
        ]
    if r.random() < 0.25:
        kit["least_cut"] = r.choice(("1 in", "50 mm", "12 in"))
    return Room(stage=stage, kit=kit, feet=feet)


def methods(r: Random, room: Room, own: dict[str, str], *, small: bool) -> Table:
    """Return methods that suit the room; `own` are products by what they are like."""

    def of(kinds: tuple[str, ...]) -> str:
        return r.choice((*kinds, *(own[k] for k in kinds if k in own)))

    masonry = room.stage["wall"] == "masonry"
    backing = "furred" if masonry or r.random() < 0.35 else "inlaid"
    coats = (1, 1, 2) if small else (0, 1, 1, 2, 2, 3)
    primer = of(
        (
            "water-primer",
            "water-primer",
            "solvent-primer",
            "solvent-primer-fast",
            "shellac-primer",
        )
    )
    fumes = "water" not in primer
    out: Table = {
        "backing": backing,
        "fill": r.choice(("mortar", "foam")),
        "bonding_agent": r.random() < 0.4,
        "setting_coats": r.choice(coats),
        "topping_coats": r.choice(coats),
        "primer_coats": r.choice((1, 1, 2) if small else (1, 2, 2, 3)),
        "colour_coats": r.choice((1, 1, 2) if small else (1, 2, 2, 3)),
        "colour_on_apron": r.random() < 0.8,
        "primer": primer,
        "primer_in": "one go" if fumes or r.random() < 0.6 else "bays",
        "sanding": r.choice(("workshop", "workshop", "stage")),
        "setting": r.choice(("setting-45", "setting-90", "setting-210")),
        "topping": of(("topping", "all-purpose")),
        "drying": of(("topping", "all-purpose")),
        "colour": of(("flat-colour",)),
        "next_coat_after": r.choice(("set", "set", "dry")),
    }
    if r.random() < 0.3 or not out["setting_coats"]:
        out["drying_coats"] = r.choice((1, 2, 3))
    for key in r.sample(sorted(out), r.choice((0, 0, 4))):
        if key not in ("backing", "setting_coats", "drying_coats", "primer"):
            del out[key]  # so that the default stands
    if out.get("primer_in") == "bays" and fumes:
        del out["primer_in"]
    if r.random() < 0.25:
        _add_second(r, room, out)
    if r.random() < 0.7:
        out["lifting"] = r.choice(("hoist", "singly", "by hand"))
    if out["setting_coats"] and r.random() < 0.2:
        out["tape"] = "mesh"
    if r.random() < 0.1:
        out["slab_test"] = "slab-chloride"
    return out


def _add_second(r: Random, room: Room, out: Table) -> None:
    """Add a second colour where there is room for both."""
    names = [row["name"] for row in room.stage["run"]]
    bare = not out.get("colour_on_apron", True) or room.stage.get("apron") == "0 mm"
    places = names[:1] if len(names) > 1 else []
    if not bare and not (places and r.random() < 0.5):
        places = ["apron"]
    if places:
        out["second_colour"] = {
            "product": out.get("colour", "flat-colour"),
            "coats": r.choice((1, 2)),
            "bays": places,
        }

"""Methods that are known, and combinations of them that can't be built, with why."""

import difflib
from collections.abc import Callable, Iterable, Mapping

from planner.files.job.faults import SectionReader
from planner.files.job.sections.schema import (
    MethodsSection,
    RepaintSection,
    SecondColourSection,
    StageSection,
)
from planner.nouns import product
from planner.nouns.job import Repaint
from planner.trade import recipes
from planner.trade.data import materials

COATS_OF = {"same": 1, "another": 2}  # of a repaint; common practice, no source
BEDDING_COATS = 2  # drying coats under the topping where the job file is silent
KINDS = {
    "setting": "setting compound",
    "drying": "drying compound",
    "topping": "drying compound",
    "skim": "drying compound",
    "primer": "primer",
    "colour": "colour",
    "adhesive": "adhesive",
    "mortar": "mortar",
    "foam": "foam",
    "bonding": "bonding agent",
    "slab_test": "slab test",
}
NAMED = {
    "backing": "backing",
    "fill": "fill",
    "sanding": "sanding",
    "primer_in": "primer",
}
APRON = "apron"


def drying_coats(methods: MethodsSection) -> int:
    """Return the coats of drying compound: two under the topping if nothing sets."""
    if methods.drying_coats is not None:
        return methods.drying_coats
    return 0 if methods.setting_coats else BEDDING_COATS


def repaint_of(repaint: RepaintSection | None) -> Repaint | None:
    """Return how what stands is painted again; None where the job builds."""
    if repaint is None:
        return None
    return Repaint(
        area=repaint.area,
        coats=repaint.coats or COATS_OF[repaint.colour],
        colour=repaint.colour,
        lasts_days=repaint.lasts,
        overshoes_frac=repaint.overshoes,
        plastic_frac=repaint.plastic,
    )


def check_methods(
    reader: SectionReader,
    methods: MethodsSection,
    stage: StageSection | None,
    own: Iterable[product.Product],
    slug: Callable[[str], str],
) -> None:
    """Note recipes and products that aren't known, and what can't go together.

    Without a stage that stands, what hangs on the room isn't looked at.
    """
    known = materials.merged(own)
    _check_products(reader, "methods", KINDS, methods, known)
    _check_compound(reader, methods)
    for field, choice in NAMED.items():
        _check_recipe(reader, field, choice, getattr(methods, field), stage)
    primer = known.get(methods.primer)
    if methods.primer_in == "bays" and primer is not None and primer.fumes:
        reader.fault(
            "methods.primer_in",
            f'"bays" can\'t be with {primer.title}: '
            "nobody else may be in the room with its fumes",
            'choose "one go", or a primer without fumes',
        )
    if methods.second_colour is not None:
        second = methods.second_colour
        _check_products(
            reader, "methods.second_colour", {"product": "colour"}, second, known
        )
        if stage is not None:
            _check_second(reader, methods, second, stage, slug)


def _check_products(
    reader: SectionReader,
    place: str,
    kinds: Mapping[str, str],
    section: MethodsSection | SecondColourSection,
    known: Mapping[str, product.Product],
) -> None:
    for field, kind in kinds.items():
        value = getattr(section, field)
        right = [p.id for p in known.values() if p.kind == kind]
        if value not in right:
            near = difflib.get_close_matches(value, right, n=1)
            reader.fault(
                f"{place}.{field}",
                f'"{value}" is not a {kind} known here',
                f'did you mean "{near[0]}"?' if near else f"known: {', '.join(right)}",
            )


def _check_recipe(
    reader: SectionReader,
    field: str,
    choice: str,
    name: str,
    stage: StageSection | None,
) -> None:
    """Note a recipe that isn't known, or that the wall can't take."""
    found = recipes.of(choice, name)
    place = f"methods.{field}"
    if not found:
        every = recipes.names(choice)
        near = difflib.get_close_matches(name, every, n=1)
        reader.fault(
            place,
            f'"{name}" is not one of {", ".join(every)}',
            f'did you mean "{near[0]}"?' if near else "",
        )
    elif stage is not None and not any(r.suits(stage.wall) for r in found):
        rest = [
            n
            for n in recipes.names(choice)
            if any(r.suits(stage.wall) for r in recipes.of(choice, n))
        ]
        reader.fault(
            place,
            f'"{name}" can\'t be: {found[0].needs}; the wall is {stage.wall}',
            "choose " + " or ".join(f'"{n}"' for n in rest),
        )


def _check_compound(reader: SectionReader, methods: MethodsSection) -> None:
    """Note joints without any compound, and topping that would have to hold tape."""
    if methods.tape == "mesh" and not methods.setting_coats:
        reader.fault(
            "methods.tape",
            "mesh tape can't be: no setting compound holds it, and drying types crack "
            "over it",
            'choose "paper", or give setting_coats at least 1',
        )
    bedding = methods.setting_coats + drying_coats(methods)
    if bedding:
        return
    if methods.topping_coats:
        reader.fault(
            "methods.topping_coats",
            "topping would lie on bare tape: setting_coats and drying_coats are both 0, "
            "and topping doesn't hold tape",
            "give setting_coats or drying_coats at least 1",
        )
    else:
        reader.fault(
            "methods",
            "setting_coats, drying_coats and topping_coats are all 0: "
            "a joint without compound shows",
        )


def _check_second(
    reader: SectionReader,
    methods: MethodsSection,
    second: SecondColourSection,
    stage: StageSection,
    slug: Callable[[str], str],
) -> None:
    """Note a second colour that has nowhere to be, or no natural edge to end at."""
    place = "methods.second_colour.bays"
    runs = [slug(r.name) for r in stage.run]
    allowed = ", ".join([APRON, *(r.name for r in stage.run)])
    ids = [slug(n) for n in second.bays]
    for name, id_ in zip(second.bays, ids, strict=True):
        if id_ not in (APRON, *runs):
            near = difflib.get_close_matches(name, allowed.split(", "), n=1)
            hint = f'did you mean "{near[0]}"?' if near else f"known: {allowed}"
            reader.fault(place, f'"{name}" is neither the apron nor a run', hint)
    if len(set(ids)) < len(ids):
        reader.fault(place, "names a place twice")
    if APRON in ids and not methods.colour_on_apron:
        reader.fault(
            place,
            "the apron takes no colour (colour_on_apron is false), so no second one",
            "leave colour_on_apron out, or the apron out of the second colour",
        )
    if APRON in ids and stage.apron == 0.0:
        reader.fault(place, "the apron has no depth", "give stage.apron a depth")
    corners = any(r.meets is not None for r in stage.run)
    bare = not methods.colour_on_apron or stage.apron == 0.0
    if not corners and set(runs) <= set(ids) and (bare or APRON in ids):
        reader.fault(
            place,
            "the second colour would cover all of the first",
            "name it as colour instead, or give it fewer places",
        )

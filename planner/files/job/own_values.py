"""The job file's own products, hours of work and packs, which replace the data's."""

import difflib
from collections.abc import Callable, Collection, Iterable, Sequence
from typing import TypeVar

from planner.files.job.faults import SectionReader, standing
from planner.files.job.sections.schema import (
    LabourSection,
    ProductSection,
    SupplySection,
)
from planner.nouns import product
from planner.nouns.job import OwnRate, OwnSupply
from planner.nouns.odds import Factor
from planner.trade.buying import supplies
from planner.trade.data import labour, materials

S = TypeVar("S")
R = TypeVar("R")


def own_products(
    reader: SectionReader, listed: Sequence[ProductSection | None] | None
) -> tuple[product.Product, ...]:
    """Return the products of the user's own, from their data sheets."""
    known = materials.load()
    out: list[product.Product] = []
    for i, own in standing(listed):
        if not _is_known(reader, f"product.{i}.like", own.like, "a product", known):
            continue
        try:
            out.append(
                materials.from_sheet(
                    known[own.like],
                    id=own.id,
                    title=own.title or own.id,
                    recoat_h=own.recoat,
                    cover_within_h=own.cover_within,
                    coverage_m2_per_l=own.coverage,
                    pack_l=own.pack,
                    at_c=own.at,
                    at_rh_pct=own.humidity,
                    sheet=own.sheet,
                )
            )
        except ValueError as error:
            reader.fault(f"product.{i}", str(error))
    return tuple(out)


def own_rates(
    reader: SectionReader, listed: Sequence[LabourSection | None] | None
) -> tuple[OwnRate, ...]:
    """Return the crew's own hours, each kind of work once.

    A section that only says how far the work differs has none.
    """

    def made(own: LabourSection) -> OwnRate | None:
        if own.spread is not None and not {"hours", "per", "set_up"} & set(
            own.model_fields_set
        ):
            return None
        return labour.own_rate(
            own.work,
            hours=own.hours,
            per=own.per,
            set_up_h=own.set_up,
            source=own.source,
        )

    named = ((f"labour.{i}", own.work, own) for i, own in standing(listed))
    rates = _once_each(reader, "work", "a kind of work", labour.rates(), named, made)
    return tuple(r for r in rates if r is not None)


def own_pace(
    listed: Sequence[LabourSection | None] | None,
) -> tuple[tuple[str, Factor], ...]:
    """Return how far kinds of work differ, where the job says so."""
    return tuple(
        (own.work, own.spread) for _, own in standing(listed) if own.spread is not None
    )


def own_waits(
    listed: Sequence[ProductSection | None] | None,
) -> tuple[tuple[str, Factor], ...]:
    """Return how far the waits of own products differ, where the job says so."""
    return tuple(
        (own.id, own.spread) for _, own in standing(listed) if own.spread is not None
    )


def own_supplies(
    reader: SectionReader, listed: Sequence[SupplySection | None] | None
) -> tuple[OwnSupply, ...]:
    """Return how the crew buys things, each supply once."""

    def made(own: SupplySection) -> OwnSupply:
        return supplies.own_supply(
            own.id,
            pack=own.pack,
            holds=own.holds,
            waste_frac=None if own.waste is None else own.waste / 100.0,
            source=own.source,
        )

    known = [s.id for s in supplies.supplies()]
    named = ((f"supply.{i}", own.id, own) for i, own in standing(listed))
    return _once_each(reader, "id", "a supply", known, named, made)


def _once_each(
    reader: SectionReader,
    key: str,
    noun: str,
    known: Collection[str],
    named: Iterable[tuple[str, str, S]],
    make: Callable[[S], R],
) -> tuple[R, ...]:
    """Return what is made of sections that stand for something known, once each.

    `named` holds each section with its place in the file and what it stands for,
    which the file says under `key`.
    """
    out: dict[str, R] = {}
    for place, name, section in named:
        if not _is_known(reader, f"{place}.{key}", name, noun, known):
            continue
        if name in out:
            reader.fault(f"{place}.{key}", f'"{name}" stands here twice')
            continue
        try:
            out[name] = make(section)
        except ValueError as error:
            reader.fault(place, str(error))
    return tuple(out.values())


def _is_known(
    reader: SectionReader, place: str, name: str, noun: str, known: Collection[str]
) -> bool:
    """Tell whether a name is known; note a fault with what it may have meant."""
    if name in known:
        return True
    near = difflib.get_close_matches(name, known, n=1)
    reader.fault(
        place,
        f'"{name}" is not {noun} known here',
        f'did you mean "{near[0]}"?' if near else f"known: {', '.join(known)}",
    )
    return False

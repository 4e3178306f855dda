"""What the job file says instead of the data: products, hours of work, packs."""

import difflib
from collections.abc import Collection, Sequence

from planner import matter, records
from planner.files.job_faults import Reader, standing
from planner.files.job_schema import LabourSection, ProductSection, SupplySection
from planner.trade import labour, materials, supplies


def own_products(
    reader: Reader, listed: Sequence[ProductSection | None] | None
) -> tuple[matter.Product, ...]:
    """Return the products of the user's own, from their data sheets."""
    known = materials.load()
    out: list[matter.Product] = []
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
    reader: Reader, listed: Sequence[LabourSection | None] | None
) -> tuple[records.OwnRate, ...]:
    """Return the crew's own hours, each kind of work once."""
    out: dict[str, records.OwnRate] = {}
    for i, own in standing(listed):
        place, known = f"labour.{i}", labour.rates()
        if not _is_known(reader, f"{place}.work", own.work, "a kind of work", known):
            continue
        if own.work in out:
            reader.fault(f"{place}.work", f'"{own.work}" stands here twice')
            continue
        try:
            out[own.work] = labour.own_rate(
                own.work,
                hours=own.hours,
                per=own.per,
                set_up_h=own.set_up,
                source=own.source,
            )
        except ValueError as error:
            reader.fault(place, str(error))
    return tuple(out.values())


def own_supplies(
    reader: Reader, listed: Sequence[SupplySection | None] | None
) -> tuple[records.OwnSupply, ...]:
    """Return how the crew buys things, each supply once."""
    out: dict[str, records.OwnSupply] = {}
    known = [s.id for s in supplies.supplies()]
    for i, own in standing(listed):
        place = f"supply.{i}"
        if not _is_known(reader, f"{place}.id", own.id, "a supply", known):
            continue
        if own.id in out:
            reader.fault(f"{place}.id", f'"{own.id}" stands here twice')
            continue
        try:
            out[own.id] = supplies.own_supply(
                own.id,
                pack=own.pack,
                holds=own.holds,
                waste_frac=None if own.waste is None else own.waste / 100.0,
                source=own.source,
            )
        except ValueError as error:
            reader.fault(place, str(error))
    return tuple(out.values())


def _is_known(
    reader: Reader, place: str, name: str, noun: str, known: Collection[str]
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

"""What a job makes of its products' drying: the faces they lie on, the air over them.

Drying times are for a coat on board, in still air. Board takes up a part of a
compound's water (freemandrywall.com, *Drying conditions*, read, weak page); a moulded
face takes up none. A joint lies on both, and its slower side counts.
"""

from collections.abc import Mapping
from dataclasses import replace

from planner.nouns.product import Hardening, Product

COMPOUND = ("setting compound", "drying compound")
OF_EVAPORATION = ("drying_table", "water_film")
ON_BOARD = 1.0  # the drying table's own ground


def in_room(
    products: Mapping[str, Product], *, on_modules: float, air_m_s: float
) -> Mapping[str, Product]:
    """Return the products as they dry in a job's room, by id.

    Parameters
    ----------
    products
        All products, by id.
    on_modules
        How many times as long compound takes on the modules as on board. [1]
    air_m_s
        How fast air is moved over the coats. [m/s]
    """
    return {id_: _product(p, on_modules, air_m_s) for id_, p in products.items()}


def surveyed(
    products: Mapping[str, Product], *, results_h: float, isolated_h: float
) -> Mapping[str, Product]:
    """Return the products with the hours that a job's survey takes in their place. [h]."""
    took = {"wall-sample": results_h, "services": isolated_h}
    return {id_: _taking(p, took.get(id_)) for id_, p in products.items()}


def _taking(product: Product, hours_h: float | None) -> Product:
    if hours_h is None:
        return product
    stages = tuple(replace(s, numbers=(("hours_h", hours_h),)) for s in product.stages)
    return replace(product, stages=stages)


def _product(product: Product, on_modules: float, air_m_s: float) -> Product:
    numbers = {"air_m_s": air_m_s} if air_m_s > 0.0 else {}
    if product.kind in COMPOUND:
        numbers |= {"ground_times": max(on_modules, ON_BOARD)}
    stages = tuple(_stage(s, numbers) for s in product.stages)
    return replace(product, stages=stages)


def _stage(stage: Hardening, numbers: Mapping[str, float]) -> Hardening:
    before = None if stage.after is None else _stage(stage.after, numbers)
    own = dict(stage.numbers)
    if stage.law in OF_EVAPORATION:
        own |= numbers
    return replace(stage, after=before, numbers=tuple(own.items()))

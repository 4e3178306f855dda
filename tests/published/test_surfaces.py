"""Areas and volumes of the kit's faces against integration of the surface itself.

The surface is the boundary of all points at least r from floor and walls' corner
region: the set {x, y, z ≥ r} grown by a ball of radius r (its Steiner parallel body).
Everything here is worked from the distance to that set alone, never from formulas for
cylinders or spheres. The two closed forms quoted at the end are Archimedes'.

Tests of planner/trade/geometry/surfaces.py.
"""

import math

import numpy as np
import pytest
from scipy.integrate import (  # type: ignore[import-untyped]  # ships no types
    dblquad,
    quad,
)

from planner.nouns.job import Kit
from planner.trade.geometry import surfaces

KITS = {
    "feet": (914.4, 952.5, 1054.1, 1054.1),
    "metric": (800.0, 850.0, 950.0, 1000.0),
    "flush": (900.0, 900.0, 900.0, 900.0),
    "tall": (600.0, 700.0, 1300.0, 900.0),
}  # radius, straight height, corner height, corner leg


def kit_of(name: str) -> Kit:
    radius, straight, corner, leg = KITS[name]
    return Kit(
        module_width_mm=1219.2,
        radius_mm=radius,
        module_mass_kg=11.0,
        straight_height_mm=straight,
        corner_height_mm=corner,
        corner_leg_mm=leg,
        upright_height_mm=1219.2,
    )


def along_rays(directions, start, radius):
    """Return how far along each ray from `start` the surface lies, and its normals."""
    low = np.zeros(len(directions))
    high = np.full(len(directions), 2.0 * np.linalg.norm(start))
    for _ in range(40):
        middle = (low + high) / 2.0
        points = start + middle[:, None] * directions
        inside = np.linalg.norm(np.maximum(radius - points, 0.0), axis=1) < radius
        low, high = np.where(inside, middle, low), np.where(inside, high, middle)
    gone = np.maximum(radius - (start + low[:, None] * directions), 0.0)
    return low, gone / np.linalg.norm(gone, axis=1)[:, None]


def area_by_rays(start, radius) -> float:
    """Return the area of the surface between the corner and the planes through `start`.

    Seen from a point inside, dA = ρ² dΩ / cos of the angle between ray and normal;
    midpoints of 400 by 400 patches of the sphere's eighth.
    """
    n = 400
    up = (np.arange(n) + 0.5) / n  # cosine of the polar angle: equal solid angles
    turn = (np.arange(n) + 0.5) / n * math.pi / 2.0
    c, t = (g.ravel() for g in np.meshgrid(up, turn))
    s = np.sqrt(1.0 - c * c)
    directions = -np.column_stack((s * np.cos(t), s * np.sin(t), c))
    far, normals = along_rays(directions, np.asarray(start), radius)
    cosine = -(directions * normals).sum(axis=1)
    return float((far**2 / np.abs(cosine)).sum() * math.pi / 2.0 / n**2)


@pytest.mark.parametrize("name", KITS)
def test_the_corner_piece_is_as_large_as_its_surface_integrates_to(name):
    kit = kit_of(name)
    start = (kit.corner_leg_mm, kit.corner_leg_mm, kit.corner_height_mm)
    want = area_by_rays(start, kit.radius_mm) * 1e-6
    assert surfaces.corner_piece_m2(kit) == pytest.approx(want, rel=1e-3)


@pytest.mark.parametrize("name", KITS)
def test_the_hollow_behind_a_corner_piece_integrates_to_the_same(name):
    kit = kit_of(name)
    r, leg, top = kit.radius_mm, kit.corner_leg_mm, kit.corner_height_mm

    def depth(y, x):
        left = r * r - max(r - x, 0.0) ** 2 - max(r - y, 0.0) ** 2
        return r - math.sqrt(left) if left >= 0.0 else top

    # where the arc of the upright corner stands in plan, the depth jumps to the top
    def edge(x):
        return r - math.sqrt(max(r * r - max(r - x, 0.0) ** 2, 0.0))

    parts = [(0.0, r)] + ([(r, leg)] if leg > r else [])
    total = 0.0
    for a, b in parts:
        total += dblquad(depth, a, b, 0.0, edge, epsrel=1e-6)[0]
        total += dblquad(depth, a, b, edge, r, epsrel=1e-6)[0]
        if leg > r:
            total += dblquad(depth, a, b, r, leg, epsrel=1e-6)[0]
    assert surfaces.corner_hollow_l(kit) == pytest.approx(total * 1e-6, rel=1e-3)


@pytest.mark.parametrize("name", KITS)
def test_a_straight_modules_face_is_as_long_as_its_profile(name):
    kit = kit_of(name)
    r, reach = kit.radius_mm, kit.straight_height_mm
    turns = np.linspace(0.0, math.pi / 2.0, 20_001)
    directions = -np.column_stack((np.cos(turns), np.sin(turns), np.zeros_like(turns)))
    start = np.array([reach, reach, 1e9])
    low = np.zeros(len(turns))
    high = np.full(len(turns), 2.0 * reach)
    for _ in range(60):
        middle = (low + high) / 2.0
        points = start + middle[:, None] * directions
        inside = np.linalg.norm(np.maximum(r - points, 0.0), axis=1) < r
        low, high = np.where(inside, middle, low), np.where(inside, high, middle)
    points = (start + low[:, None] * directions)[:, :2]
    length = np.linalg.norm(np.diff(points, axis=0), axis=1).sum()
    assert surfaces.developed_mm(kit) == pytest.approx(length, rel=1e-4)
    # how deep it is, held with the line between its two edges upright
    chord = (points[:, 0] + points[:, 1]) / math.sqrt(2.0)
    depth = chord.max() - chord.min()
    assert surfaces.held_depth_mm(kit) == pytest.approx(depth, rel=1e-4)


@pytest.mark.parametrize("name", KITS)
def test_the_hollow_behind_a_cove_and_an_upright_integrates_to_the_same(name):
    kit = kit_of(name)
    r = kit.radius_mm
    section, _ = quad(lambda x: r - math.sqrt(r * r - (r - x) ** 2), 0.0, r)
    assert surfaces.straight_hollow_l(kit, 1000.0) == pytest.approx(
        section * 1e-3, rel=1e-6
    )
    assert surfaces.upright_hollow_l(kit, 2500.0) == pytest.approx(
        section * 2.5e-3, rel=1e-6
    )


def test_without_lips_it_is_an_eighth_of_archimedes_sphere():
    # On the Sphere and Cylinder I, 33 and 34: a sphere is four of its great circles,
    # and two thirds of the cylinder around it: a face of πr²/2, a hollow of r³(1 - π/6).
    kit = kit_of("flush")
    r = kit.radius_mm
    assert surfaces.corner_piece_m2(kit) == pytest.approx(math.pi * r * r / 2e6)
    assert surfaces.corner_hollow_l(kit) == pytest.approx(
        r**3 * (1 - math.pi / 6) * 1e-6
    )

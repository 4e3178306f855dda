"""Whether the slab is dry enough to coat: tests that lie their hours, then are read.

Nothing is laid on the floor, compound in front of the coves included, before the
tests are read; so a slab that doesn't pass shows while there is still time.
"""

import math

from planner.nouns.work import Wait
from planner.trade.parts import SLAB, After, Leads, Part, Site, follow, task_of
from planner.trade.takeoff import BayKind

TEST_M2 = 500.0 * 0.3048**2  # one test for each 500 ft², ASTM D4263; from memory
READ = "read"


def slab(site: Site, leads: Leads) -> Part:
    """Return the tests and their reading; hands on what work on the floor follows."""
    (apron,) = site.takeoff.of(BayKind.APRON)
    product = site.products[site.methods.slab_test]
    count = tests(site)
    test = task_of(
        site,
        "test-slab",
        bay=apron,
        amount=count,
        product=product,
        dry_stage=READ,
    )
    read = task_of(
        site, "read-slab", bay=apron, amount=count, cautions=product.cautions
    )
    lain = After(
        task=test.id,
        reason="the tests are read once they have lain their hours",
        wait=Wait(product=product.id, stage=READ),
    )
    passed = After(
        task=read.id, reason="nothing is laid on a slab that isn't known dry"
    )
    return Part(
        tasks=(test, read),
        links=(*follow(test, *leads[SLAB]), *follow(read, lain)),
        leads={**leads, SLAB: (passed,)},
    )


def tests(site: Site) -> int:
    """Return how many tests the floor that is coated needs, at least one."""
    coated_m2 = site.takeoff.apron_m2 * site.methods.colour_on_apron
    coated_m2 += sum(b.floor_strip_m2 for b in site.takeoff.built)
    return max(1, math.ceil(coated_m2 / TEST_M2 - 1e-9))

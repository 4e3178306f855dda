"""The room and the methods become the whole work: phases strung in order."""

from collections.abc import Mapping

from planner.records import Job, Link, Product, Return, Task, Wait, Work
from planner.trade import labour
from planner.trade.parts import Leads, Site
from planner.trade.phases.coats import coats
from planner.trade.phases.delivery import delivery
from planner.trade.phases.fixing import fixing
from planner.trade.phases.joints import joints
from planner.trade.phases.modules import modules
from planner.trade.phases.wall import wall
from planner.trade.takeoff import TakeOff

PHASES = (delivery, wall, modules, fixing, joints, coats)


def work(job: Job, takeoff: TakeOff, products: Mapping[str, Product]) -> Work:
    """Return all tasks, links and returns of a job.

    `products` holds every product that the methods name, by id.
    """
    site = Site(
        stage=job.stage,
        methods=job.methods,
        takeoff=takeoff,
        rates=labour.rates(),
        products=products,
    )
    tasks: list[Task] = []
    links: list[Link] = []
    terms: list[tuple[str, str, Wait | None]] = []
    leads: Leads = {}
    for phase in PHASES:
        part = phase(site, leads)
        tasks += part.tasks
        links += part.links
        terms += part.returns
        leads = part.leads
    names = ("light feet", "full service")
    return Work(
        bays=tuple(b.id for b in takeoff.bays),
        tasks=tuple(tasks),
        links=tuple(links),
        returns=tuple(
            Return(name=n, after=tuple((t, w) for name, t, w in terms if name == n))
            for n in names
        ),
    )

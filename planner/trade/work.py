"""From the room and the methods to all tasks of a job, phase by phase."""

from collections.abc import Mapping

from planner.nouns.job import Job
from planner.nouns.product import Product
from planner.nouns.work import Return, ReturnKind, Task, TaskLink, Wait, Window, Work
from planner.trade.behind import with_behind
from planner.trade.data import labour
from planner.trade.lifting.lifters import with_lifters
from planner.trade.lifting.lifting import lifts
from planner.trade.parts import Leads, Site
from planner.trade.phases.coats import coats
from planner.trade.phases.delivery import delivery
from planner.trade.phases.fixing import fixing
from planner.trade.phases.gates import gates, with_report
from planner.trade.phases.joints import joints
from planner.trade.phases.modules import modules
from planner.trade.phases.patches import patches
from planner.trade.phases.repainting import repainting
from planner.trade.phases.slab import slab
from planner.trade.phases.wall import wall
from planner.trade.safety import with_lines
from planner.trade.takeoff import TakeOff

PHASES = (delivery, slab, wall, modules, fixing, joints, coats)
REPAINTING = (repainting,)


def work(
    job: Job,
    takeoff: TakeOff,
    products: Mapping[str, Product],
    usable_h: Mapping[str, float] | None = None,
) -> Work:
    """Return all tasks, links, windows and returns of a job.

    `products` holds every product that the methods name, by id; `usable_h` how long
    a batch or a bead of some of them can be worked.
    """
    site = Site(
        stage=job.stage,
        kit=job.kit,
        methods=job.methods,
        takeoff=takeoff,
        rates=labour.rates(job.own_rates),
        products=products,
        usable_h=usable_h or {},
        survey=job.survey,
        repaint=job.repaint,
        units=job.units,
    )
    tasks: list[Task] = []
    links: list[TaskLink] = []
    terms: list[tuple[ReturnKind, str, Wait | None]] = []
    windows: list[Window] = []
    leads: Leads = {}
    for phase in PHASES if job.repaint is None else REPAINTING:
        part = phase(site, leads)
        tasks += part.tasks
        links += part.links
        terms += part.returns
        windows += part.windows
        leads = part.leads
    again = patches(site, job.shows, tasks, links)
    tasks += again.tasks
    links += again.links
    terms += again.returns
    visits = gates(site, tuple(tasks))
    tasks = [*visits.tasks, *(with_report(t, site) for t in tasks)]
    links += visits.links
    lifting = job.methods.lifting
    lifted = lifts(takeoff, job.kit, lifting)
    return Work(
        bays=tuple(b.id for b in takeoff.bays),
        tasks=tuple(
            with_behind(
                with_lines(
                    with_lifters(t, lifted, lifting, job.units),
                    job,
                    takeoff,
                ),
                job,
            )
            for t in tasks
        ),
        links=tuple(links),
        returns=tuple(
            Return(kind=kind, after=tuple((t, w) for k, t, w in terms if k is kind))
            for kind in ReturnKind
        ),
        windows=tuple(windows),
    )

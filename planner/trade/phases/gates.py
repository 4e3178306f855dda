"""What must be known before a wall is opened or a floor sanded, days before.

An old wall may hold asbestos or lead, and cables and pipes. Who is licensed for it comes
once to take samples and once to find the services, let in by one of the crew, between the
bookings of the stage. What the laboratory finds takes days, and so does having a service
isolated: nothing is opened, drilled or sanded before.
"""

from dataclasses import replace

from planner.nouns.told.saying import name, saying
from planner.nouns.work import Task, TaskLink, Wait
from planner.trade.parts import After, Part, Site, follow, task_of

FIRST = frozenset(
    {"mark", "test-slab", "sand-modules", "clear"}
)  # what may begin a closure
# Kind of work, the product that stands for its outcome, the outcome, the reason.
VISITS = (
    (
        "survey",
        "wall-sample",
        "report",
        "nothing is opened or sanded before the laboratory has found no asbestos or lead",
    ),
    (
        "locate",
        "services",
        "isolated",
        "nothing is opened or drilled before the services in it are found and isolated",
    ),
)


def gates(site: Site, tasks: tuple[Task, ...]) -> Part:
    """Return the visits that a job still needs, and what among `tasks` waits for them.

    The stage is closed only once they have been paid.
    """
    paid: list[Task] = []
    links: list[TaskLink] = []
    for work, product, outcome, reason in VISITS:
        opens_no_wall = site.repaint is not None and work == "locate"
        if opens_no_wall or not site.survey.wants(work):
            continue
        visit = task_of(site, work, amount=1, product=site.products[product])
        paid.append(visit)
        known = After(
            task=visit.id, reason=reason, wait=Wait(product=product, stage=outcome)
        )
        first = After(task=visit.id, reason="the visit is paid before the stage closes")
        for task in tasks:
            if site.rates[task.phase].opens:
                links += follow(task, known)
            elif task.on_stage and task.phase in FIRST:
                links += follow(task, first)
    return Part(tasks=tuple(paid), links=tuple(links), leads={})


def with_report(task: Task, site: Site) -> Task:
    """Return a task that opens or sands something with the report that says it may."""
    said = site.survey.report
    if not said or not site.rates[task.phase].opens:
        return task
    line = saying(
        "Surveyed before: {report}. Read it; stop where what you find isn't in it",
        name("report", said),
    )
    return replace(
        task, cautions=(*task.cautions, line.text), sayings=(*task.sayings, line)
    )

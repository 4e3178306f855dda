"""A small job that has begun: its plan, and what may be logged of it."""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path

from planner.files.logbook.lines import with_id
from planner.judge import judged
from planner.living.laid_over import with_log
from planner.living.went import Went, went
from planner.nouns.case import Case, Past
from planner.nouns.happened import Happening, Logbook, What
from planner.nouns.ids import id_on
from planner.nouns.inputs import Inputs
from planner.nouns.plan import Plan
from planner.planning.answering import answer
from planner.trade.data import materials
from planner.trade.takeoff import take_off
from planner.trade.work import work
from planner.usecases.living.revise import Facts, Revised, revise
from planner.usecases.plan import Choices
from planner.usecases.read import read_inputs
from tests.support.finished import finished
from tests.support.values import STRAIGHT, job_file

HOUR = timedelta(hours=1)
LITTLE = Choices(work_limit=0.02)


@dataclass(frozen=True)
class Begun:
    """A job with its plan, before anything is logged."""

    inputs: Inputs
    plan: Plan

    def event(self, what: str, about: str = "", at: datetime | None = None, **fields):
        """Return an event; the stage is put before a task's or a bay's name."""
        when = at or self.plan.grid_start
        named = about and what in (
            "begun",
            "stopped",
            "done",
            "waiting",
            "dry",
            "wet",
            "shows",
        )
        whole = id_on(self.plan.stage.id, about) if named else about
        return with_id(
            Happening(
                id="",
                what=What(what),
                at=when,
                logged=fields.pop("logged", when),
                about=whole,
                **fields,
            )
        )

    def went(self, now: datetime, *events: Happening, since=None) -> Went:
        """Return the past until a moment."""
        job = self.inputs.job
        takeoff = take_off(job, ids=tuple(r.id for r in job.stage.runs))
        tasks = work(job, takeoff, materials.load())
        return went(self.plan, Logbook(events=events), tasks, now=now, since=since)

    def facts(self, *events: Happening) -> Facts:
        """Return what a revision goes by."""
        return Facts(
            plan=self.plan,
            inputs=self.inputs,
            book=Logbook(events=events),
            log=Path("job-log.txt"),
            revised=None,
        )

    def revised(self, now: datetime, *events: Happening, **how) -> Revised:
        """Return a revision, found with little work."""
        return revise(self.facts(*events), LITTLE, now=now, **how)

    def faults(self, plan: Plan, past: Past, *events: Happening) -> tuple[str, ...]:
        """Return what the judge finds in a revised plan."""
        facts = with_log(self.inputs, Logbook(events=events), file="job-log.txt")
        return judged(replace(facts, fingerprint=plan.fingerprint), plan, past=past)


def begun(folder: Path, text: str = STRAIGHT) -> Begun:
    """Return a job of a file that holds `text`, planned with little work."""
    path = job_file(folder, text)
    inputs = read_inputs(path)
    case = Case(inputs=inputs)
    plan = finished(case, answer(case, LITTLE.search()))
    return Begun(inputs=inputs, plan=plan)

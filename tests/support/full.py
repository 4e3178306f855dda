"""A small job with all that closes hours: bookings, quiet neighbours, days off."""

from dataclasses import replace
from pathlib import Path

import numpy as np

from planner.hours.grid import Grid
from planner.nouns.inputs import Inputs
from planner.nouns.product import Air
from planner.planning.posing import takeoff_of
from planner.planning.problem import Problem, build
from planner.trade.work import work
from tests.support.ics import calendar, event, put
from tests.support.values import STRAIGHT, changed, job_file


def taken(start: str, end: str, title: str, *more: str) -> str:
    zone = "TZID=America/Halifax"
    return event(
        f"DTSTART;{zone}:202702{start}00",
        f"DTEND;{zone}:202702{end}00",
        f"SUMMARY:{title}",
        *more,
        uid=title,
    )


SHOOT = taken("09T0900", "09T1200", "Shoot", "RRULE:FREQ=WEEKLY;COUNT=3")
PORTRAITS = taken("18T1300", "18T1500", "Portraits")
LEFT = (
    taken("08T0900", "08T1000", "cello") + "\r\n" + taken("10T0905", "10T0955", "viola")
)
RIGHT = taken("08T1400", "08T1500", "drums")
DENTIST = taken("08T0830", "08T1010", "Dentist")
HOLIDAY = event("DTSTART;VALUE=DATE:20270215", "SUMMARY:Heritage Day")
FULL = changed(
    STRAIGHT,
    (
        "earliest = 2027-02-08",
        'earliest = 2027-02-08\ndelivery = 2027-02-09T10:00:00\ndrying_margin = "25 %"',
    ),
    (
        "[stage]",
        '[stage]\nhours = "07:00-22:00"\nbookings = ["stage.ics"]\n'
        'quiet = ["left.ics", "right.ics"]\nholidays = ["days.ics"]',
    ),
    ('name = "Ana"', 'name = "Ana"\ncalendar = "ana.ics"\nrest = "8 h"'),
)


def full_job(folder: Path) -> Path:
    """Write the job and its calendars into a folder; return the job file's path."""
    for name, parts in {
        "stage": (SHOOT, PORTRAITS),
        "left": (LEFT,),
        "right": (RIGHT,),
        "ana": (DENTIST,),
        "days": (HOLIDAY,),
    }.items():
        put(folder, calendar(*parts), f"{name}.ics")
    return job_file(folder, FULL)


def built(inputs: Inputs, air_c, rh=50.0, *, weeks: int = 2, **job) -> Problem:
    """Return the problem in an air of one's own: numbers, or a number for each tick."""
    own = replace(inputs.job, **job)
    grid = Grid.from_day(own.earliest, days=7 * weeks, tick_minutes=15, zone=own.zone)
    air = Air(
        tick_minutes=15,
        air_c=np.full(grid.ticks, 0.0) + air_c,
        humidity_pct=np.full(grid.ticks, 0.0) + rh,
        wall_colder_delta_k=own.wall_colder_delta_k,
    )
    jobs_work = work(own, takeoff_of(inputs), inputs.products, {})
    return build(
        own,
        jobs_work,
        grid=grid,
        air=air,
        products=inputs.products,
        hours=inputs.hours,
    )

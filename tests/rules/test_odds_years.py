"""Several years of air outside: each year's same weeks are a series of room air.

Tests of planner/odds/weather.py, planner/planning/inside.py.
"""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from planner.nouns.inputs import Inputs
from planner.odds.weather import series_of
from planner.planning.inside import years_inside
from planner.planning.posing import problem_of
from planner.trade.data.odds import spread
from planner.usecases.read import read_inputs
from tests.support.places import ROOT

JOB = ROOT / "examples/straight/job.toml"
RH = {2023: 30, 2024: 50, 2025: 70, 2026: 90}
ROOM = '\n[air.outside]\nrecord = "record.csv"\n[air.room]\nvolume = "400 m3"\n'


def _inputs(folder: Path, years: dict[int, int], *, from_month: int = 1) -> Inputs:
    """Return the straight example in a leaky room, with so many years of a record."""
    lines = ["time,temp_C,rh_pct"]
    for year, rh in years.items():
        first = from_month if year == min(years) else 1
        when = datetime(year, first, 1, tzinfo=UTC)
        while when.year == year:
            lines.append(f"{when:%Y-%m-%dT%H:%M}Z,18.0,{rh}")
            when += timedelta(hours=6)
    (folder / "record.csv").write_text("\n".join(lines) + "\n", "utf-8")
    text = JOB.read_text("utf-8").replace("../../", f"{ROOT}/")
    job = folder / "job.toml"
    job.write_text(text + ROOM, "utf-8")
    return read_inputs(job)


def test_each_year_of_a_record_is_a_series(tmp_path: Path) -> None:
    """Four years, each drier than the next, and so is the room in each."""
    inputs = _inputs(tmp_path, RH)
    problem = problem_of(inputs, weeks=6)
    years = years_inside(inputs, problem.grid)
    damp = sorted(float(np.mean(air.humidity_pct)) for air in years)
    assert damp == pytest.approx(sorted(RH.values()), abs=3.0)
    series = series_of(inputs, problem, (), spread(inputs.job), seed=1)
    assert series[0] is problem.air
    assert len(series) == 5
    assert all(
        (a.humidity_pct == b.humidity_pct).all()
        for a, b in zip(series[1:], years, strict=True)
    )


@pytest.mark.slow
def test_too_few_years_or_half_of_them_leave_the_assumed_errors(tmp_path: Path) -> None:
    """Two years; or three of which the first begins in April, after most of the weeks."""
    two = _inputs(tmp_path, {2025: 70, 2026: 90})
    grid = problem_of(two, weeks=6).grid
    assert years_inside(two, grid) == ()
    three = {year: rh for year, rh in RH.items() if year > 2023}
    assert len(years_inside(_inputs(tmp_path, three), grid)) == 3
    late = _inputs(tmp_path, three, from_month=4)
    assert years_inside(late, grid) == ()
    series = series_of(late, problem_of(late, weeks=6), (), spread(late.job), seed=1)
    assert len(series) == 33

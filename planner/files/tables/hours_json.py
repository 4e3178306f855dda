"""Open hours as JSON, for other programs."""

import json
from typing import Any

from planner.hours.account import Account, Accounts, Day, Reason, Stretch, instants

FORMAT = 1


def hours_json(answer: Accounts) -> bytes:
    """Return every owner's days as JSON: instants in UTC, reasons of closed hours.

    Stretches fill a day from midnight to midnight of the site. A private entry
    shows its file and nothing else.
    """
    grid = answer.grid
    whole = {
        "format": FORMAT,
        "job": answer.job,
        "time_zone": grid.zone.key,
        "tick_minutes": grid.tick_minutes,
        "first_day": answer.first.isoformat(),
        "last_day": answer.last.isoformat(),
        "owners": [_account(a) for a in answer.accounts],
        "remarks": list(answer.remarks),
    }
    return (json.dumps(whole, indent=1, ensure_ascii=False) + "\n").encode()


def _account(account: Account) -> dict[str, Any]:
    return {
        "name": account.owner,
        "kind": account.kind,
        "open_minutes": account.open_ticks * account.grid.tick_minutes,
        "days": [_day(account, d) for d in account.days],
    }


def _day(account: Account, day: Day) -> dict[str, Any]:
    return {
        "day": day.day.isoformat(),
        "open_minutes": day.open_ticks * account.grid.tick_minutes,
        "stretches": [_stretch(account, s) for s in day.stretches],
    }


def _stretch(account: Account, stretch: Stretch) -> dict[str, Any]:
    start, end = instants(account.grid, stretch)
    return {
        "start": f"{start:%Y-%m-%dT%H:%M:%SZ}",
        "end": f"{end:%Y-%m-%dT%H:%M:%SZ}",
        "state": "open" if stretch.is_open else "closed",
        "reasons": [_reason(r) for r in stretch.reasons],
    }


def _reason(reason: Reason) -> dict[str, str]:
    entry = reason.entry
    if entry is None:
        return {"why": reason.why.value, "words": reason.words}
    out = {"why": reason.why.value, "file": entry.file, "kind": entry.kind}
    return {**out, "title": entry.title, "uid": entry.uid} if entry.title else out

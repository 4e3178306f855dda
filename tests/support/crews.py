"""The corner example with crews of any size: all know every trade, or one trade each."""

import re

from tests.support.places import ROOT

TRADES = ("carpenter", "finisher", "painter", "labourer")


def corner_with_crew(count: int, *, each: str, unlike: bool = False) -> str:
    """Return the corner example's job file with another crew.

    Parameters
    ----------
    count
        How many people.
    each
        What each of them knows: "all" trades, or "one" of them in turn.
    unlike
        Whether their shifts differ: then no two of forty people are alike.
    """
    folder = ROOT / "examples/corner"
    text = (folder / "job.toml").read_text().replace('"../../', f'"{ROOT}/')
    before, *after = re.split(r"(?m)^(?=\[\[crew\]\])", text)
    rest = re.split(r"(?m)^(?=\[air\])", after[-1])[1]
    crew = "".join(_member(n, each=each, unlike=unlike) for n in range(count))
    return f"{before}{crew}{rest}"


def _member(n: int, *, each: str, unlike: bool) -> str:
    trades = TRADES if each == "all" else (TRADES[n % len(TRADES)],)
    hours = "08:00-12:00 12:30-16:30"
    if unlike:
        begin, end = 6 * 60 + 15 * (n % 8), 14 * 60 + 15 * (n // 8)
        hours = f"{begin // 60:02}:{begin % 60:02}-{end // 60:02}:{end % 60:02}"
    return (
        f'[[crew]]\nname = "P{n}"\ntrades = {list(trades)}\n'
        f'shifts = ["Mon-Fri {hours}"]\n\n'
    ).replace("'", '"')

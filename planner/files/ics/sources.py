"""Where a calendar's bytes come from: a file, a folder of files, or an address.

Everything is loaded once, before anything is read, and what was loaded is what is
read and fingerprinted.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from planner.errors import CalendarError, Fault
from planner.files.ics.stretches import CalendarSource
from planner.files.plain import other_kind
from planner.files.web import addresses, copies
from planner.files.web.addresses import BYTES_MAX, Failure, Web
from planner.files.web.copies import Copy
from planner.units import duration_words, moment_words

FILES_MAX = 10_000  # two components each, so more could not be read anyway
FOLDER_BYTES_MAX = 20_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Loaded:
    """A calendar's bytes, its name for messages, and remarks on how it came."""

    name: str
    sources: tuple[CalendarSource, ...]
    remarks: tuple[str, ...] = ()

    @property
    def data(self) -> bytes:
        """The bytes of all sources, in their order."""
        return b"".join(s.data for s in self.sources)


def usual_web() -> Web:
    """Return the web as it is: with the clock, the user's cache and all limits."""
    return Web(now=datetime.now(UTC), copies=copies.usual_folder())


def shown(name: str) -> str:
    """Return the name of a file or an address as messages may show it."""
    return addresses.shown(name) if addresses.is_address(name) else Path(name).name


def load(
    names: Iterable[str], *, keep_for_h: float | None = None, net: Web | None = None
) -> Mapping[str, Loaded | CalendarError]:
    """Return each calendar by name: loaded, or why it can't be.

    Parameters
    ----------
    names
        Paths and addresses, as a job has them.
    keep_for_h
        How old a copy may be that is used where its address gives nothing, or None
        where none may be. [h]
    net
        How to fetch; None: as usual.
    """
    wanted = list(dict.fromkeys(names))
    out: dict[str, Loaded | CalendarError] = {}
    for name in wanted:
        if not addresses.is_address(name):
            try:
                out[name] = from_disk(Path(name))
            except CalendarError as error:
                out[name] = error
    away = [n for n in wanted if addresses.is_address(n)]
    if away:
        out |= _from_web(away, keep_for_h, net or usual_web())
    return out


# ------------------------------------------------------------------ from disk


def from_disk(path: Path) -> Loaded:
    """Return a calendar file, or all the calendar files of a folder by name.

    Raises
    ------
    CalendarError
        When a file can't be opened, or the folder holds none or too much.
    """
    if not path.is_dir():
        source = _source(path, path, prefix="")
        return Loaded(name=str(path), sources=(source,))
    try:
        files = sorted(f for f in path.iterdir() if _is_calendar(f))
    except OSError as error:
        raise _unopened(path, path, error) from error
    if not files:
        raise _refused(path, "no .ics file in this folder")
    if len(files) > FILES_MAX:
        raise _refused(path, f"more than {FILES_MAX:,} .ics files in this folder")
    sources: list[CalendarSource] = []
    left = FOLDER_BYTES_MAX
    for file in files:
        sources.append(_source(path, file, prefix=f"{file.name}: "))
        left -= len(sources[-1].data)
        if left < 0:
            raise _refused(
                path,
                f"its files are larger than {FOLDER_BYTES_MAX:,} bytes together",
                "export fewer days",
            )
    return Loaded(name=str(path), sources=tuple(sources))


def _is_calendar(file: Path) -> bool:
    hidden = file.name.startswith(".")
    return file.suffix.lower() == ".ics" and not hidden and file.is_file()


def _source(path: Path, file: Path, *, prefix: str) -> CalendarSource:
    try:
        if kind := other_kind(file):
            raise _refused(path, f"{file.name} is {kind}, not a calendar file")
        with file.open("rb") as stream:
            data = stream.read(BYTES_MAX + 1)
    except OSError as error:
        raise _unopened(path, file, error) from error
    return CalendarSource(file=str(file), prefix=prefix, data=data)


def _unopened(path: Path, file: Path, error: OSError) -> CalendarError:
    reason = error.strerror or type(error).__name__
    return _refused(path, f"{file.name} can't be opened ({reason})")


def _refused(path: Path, message: str, hint: str = "") -> CalendarError:
    fault = Fault(where="the file", message=message, hint=hint)
    return CalendarError((fault,), file=str(path))


# --------------------------------------------------------------- from the web


def _from_web(
    wanted: list[str], keep_for_h: float | None, net: Web
) -> dict[str, Loaded | CalendarError]:
    from planner.files.web import fetch  # slow to load, and few jobs need it

    before = {a: copies.read(net.copies, a) for a in wanted}
    out: dict[str, Loaded | CalendarError] = {}
    for address, found in fetch.fetch(before.items(), net).items():
        if isinstance(found, Copy):
            out[address] = _loaded(address, found, *_kept(address, found, net))
        else:
            out[address] = _instead(address, found, before[address], keep_for_h, net)
    return out


def _kept(address: str, copy: Copy, net: Web) -> tuple[str, ...]:
    """Keep a copy; return a remark where that fails."""
    try:
        copies.write(net.copies, address, copy)
    except OSError as error:
        why = error.strerror or type(error).__name__
        return (f"no copy could be kept for when the link doesn't answer ({why})",)
    return ()


def _loaded(address: str, copy: Copy, *remarks: str) -> Loaded:
    name = addresses.shown(address)
    source = CalendarSource(file=name, prefix="", data=copy.data)
    return Loaded(name=name, sources=(source,), remarks=remarks)


def _instead(
    address: str,
    failure: Failure,
    copy: Copy | None,
    keep_for_h: float | None,
    net: Web,
) -> Loaded | CalendarError:
    """Return the copy in place of what couldn't be fetched, if the user allows it."""
    hint = failure.hint
    if failure.final:
        return _not_fetched(address, failure, hint)
    if copy is None or copy.fetched > net.now:
        none = "no earlier copy of it is kept"
        return _not_fetched(address, failure, "; ".join(filter(None, (hint, none))))
    age = net.now - copy.fetched
    minutes = int(age / timedelta(minutes=1))
    since = f"the copy of {moment_words(copy.fetched, UTC)} UTC"
    old = f"{duration_words(minutes)} old"
    if keep_for_h is not None and age <= timedelta(hours=keep_for_h):
        return _loaded(address, copy, f"{failure.reason}; {since} is used, {old}")
    if keep_for_h is None:
        hours = minutes // 60 + 1
        allow = f'allow {since}, {old}, by [calendars] keep_for = "{hours} h"'
    else:
        allow = f"{since} is {old}, more than keep_for allows"
    return _not_fetched(address, failure, "; ".join(filter(None, (hint, allow))))


def _not_fetched(address: str, failure: Failure, hint: str) -> CalendarError:
    fault = Fault(where="the link", message=failure.reason, hint=hint)
    return CalendarError((fault,), file=addresses.shown(address))

"""What a task is called in another language, read from the catalogue by the judge itself.

The catalogues are data; this reader of them is the judge's own, and so is the rule by
which a title is put together: the work, which of several coats, the bay.
"""

import re
from collections.abc import Mapping
from functools import cache
from importlib.resources import files

from planner.nouns.plan import Plan, PlannedTask

ENGLISH = "en"
_LINE = re.compile(r'(?:(msgid|msgstr) )?"(.*)"')
_BETWEEN = "corner {one}/{two}"


@cache
def words(tag: str) -> Mapping[str, str]:
    """Return what a language says for each English sentence that has no plural."""
    lines = files("planner.languages").joinpath(f"{tag.partition('-')[0]}.po")
    out: dict[str, str] = {}
    said = {"msgid": "", "msgstr": ""}
    part = "msgid"
    for line in (*lines.read_text("utf-8").splitlines(), ""):
        found = _LINE.fullmatch(line)
        if found is None:
            out[said["msgid"]] = said["msgstr"]
            said = {"msgid": "", "msgstr": ""}
            continue
        part = found[1] or part
        said[part] += found[2].replace('\\"', '"').replace("\\\\", "\\")
    return out


def title(plan: Plan, task: PlannedTask, tag: str) -> str:
    """Return what a task has to be called in the language of a tag."""
    if tag.partition("-")[0] == ENGLISH:
        return task.title
    known = words(tag)
    names = [b.name for s in plan.stages for b in s.bays if b.id in task.bays]
    work, bay = task.title, ""
    if len(names) == 1 and work.endswith(f", {names[0]}"):
        work, bay = work.removesuffix(f", {names[0]}"), f", {_bay(names[0], known)}"
    numbered = re.fullmatch(r"(.+) (\d+)", work)
    number = f" {numbered[2]}" if numbered else ""
    work = numbered[1] if numbered else work
    return f"{known.get(work, f'no word for {work}')}{number}{bay}"


def _bay(name: str, known: Mapping[str, str]) -> str:
    """Return a bay's name, where it is one that the program made."""
    between = re.fullmatch("corner (.+)/(.+)", name)
    if between:
        return known[_BETWEEN].format(one=between[1], two=between[2])
    return known[name] if name in ("corner", "apron") else name

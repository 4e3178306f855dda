"""What the three pages of a plan share: their look, their heads, the way between them.

Each is one file that needs no network, and no script; a script only adds comfort.
"""

from base64 import b64encode
from dataclasses import dataclass, replace
from hashlib import sha256
from importlib.resources import files
from typing import Any

from markupsafe import Markup

from planner.languages.language import ENGLISH, Language
from planner.nouns.plan import Plan
from planner.nouns.told.saying import marked
from planner.report.board import board
from planner.report.board import style as board_style
from planner.report.drawing import tokens
from planner.report.drawing.telling import mark_words, unchecked
from planner.report.drawing.templating import environment
from planner.report.drawing.view import View
from planner.report.network import draw
from planner.report.opening import style as opening_style

PLAN = "plan.html"
CREW = "crew.html"
REFERENCE = "dependencies.html"


@dataclass(frozen=True, slots=True, kw_only=True)
class SisterPage:
    """One of the pages of a plan, as the others link to it.

    `lang` is the language of the page, `title_lang` that of its title in a link.
    """

    file: str
    title: str
    lang: str = ENGLISH.tag
    title_lang: str = ENGLISH.tag


@dataclass(frozen=True, slots=True, kw_only=True)
class PagePart:
    """A part of a page, by the id of its section."""

    id: str
    title: str


PAGES = (
    SisterPage(file=PLAN, title=marked("The closure")),
    SisterPage(file=CREW, title=marked("The crew")),
    SisterPage(file=REFERENCE, title=marked("What waits for what")),
)


def told_in(language: Language) -> SisterPage:
    """Return the crew's page in a language other than English, as others link to it."""
    return SisterPage(
        file=f"crew.{language.tag}.html",
        title=f"{language.say('The crew')} ({language.name})",
        lang=language.tag,
        title_lang=language.tag,
    )


def _linked(page: SisterPage, language: Language) -> SisterPage:
    """Return an English page as a page in a language links to it: it says so."""
    if language is ENGLISH:
        return page
    title = language.say("{what} (in English)", what=language.say(page.title))
    return replace(page, title=title, title_lang=language.tag)


def framed(
    template: str,
    plan: Plan,
    *,
    file: str,
    parts: tuple[PagePart, ...],
    script: str = "",
    language: Language = ENGLISH,
    others: tuple[SisterPage, ...] = (),
    **values: Any,
) -> bytes:
    """Return a page: its template filled, between the head and the foot of all pages.

    `script` names the script that adds comfort to it; without one, none can run.
    `others` are pages in other languages, to link to.
    """
    code = _file(script) if script else ""
    pages = (*(_linked(p, language) for p in PAGES), *others)
    year = View(plan).year
    text = (
        environment()
        .get_template(template)
        .render(
            plan=plan,
            here=file,
            title=next(p.title for p in pages if p.file == file),
            pages=pages,
            lang=language.tag,
            year=year,
            say=language.say,
            mark=mark_words(plan, language),
            warning="" if language.is_checked else unchecked(language),
            parts=parts,
            reference=REFERENCE,
            style=Markup(f"{_style()}\n{_paper_foot(plan, year)}"),
            script=Markup(code),
            script_hash=_hash(code),
            patterns=board.pattern_defs(),
            **values,
        )
    )
    return text.encode() + b"\n"


def _file(name: str) -> str:
    return files("planner.report").joinpath(f"templates/{name}").read_text("utf-8")


def _style() -> str:
    parts = tokens.css(), board_style.css(), draw.css(), opening_style.css()
    return "\n".join((*parts, _file("page.css")))


def _paper_foot(plan: Plan, year: int) -> str:
    """Return a style that says on each sheet of paper whose it is: it may lie alone."""
    said = f"{plan.program}, plan {mark_words(plan)}, times {plan.zone}, {year}"
    foot = f'@bottom-left{{content:"{said}";font:8pt sans-serif}}'
    return f"@media print{{footer{{display:none}}}}@page{{{foot}}}"


def _hash(script: str) -> str:
    """Return what a content security policy knows a script by."""
    return f"sha256-{b64encode(sha256(script.encode()).digest()).decode()}"

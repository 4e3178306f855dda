"""SVG pictures as element trees: short numbers, and text that is cleaned and fitted."""

import re
import unicodedata
from itertools import groupby
from xml.etree import ElementTree as ET

from markupsafe import Markup

Node = ET.Element

_NO_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")

FIRST_STRONG, POP = "\u2068", "\u2069"  # Unicode Standard Annex 9: isolates


def num(value: float) -> str:
    """Return a coordinate to a tenth of a unit, without trailing zeros."""
    text = f"{value:.1f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def clean(text: str) -> str:
    """Return text without the characters that XML 1.0 can't hold (section 2.2)."""
    return _NO_XML.sub("", text)


def isolated(text: str) -> str:
    """Return a name shut off from the writing direction of what stands around it."""
    return f"{FIRST_STRONG}{text}{POP}" if _turns(text) else text


def _turns(text: str) -> bool:
    return any(unicodedata.bidirectional(c) in ("R", "AL", "RLE", "RLO") for c in text)


def _wide(char: str) -> float:
    """Return the width of a character in ems, roughly, in a sans-serif face."""
    if unicodedata.combining(char) or char in "\u200d\ufe0f" + FIRST_STRONG + POP:
        return 0.0
    if unicodedata.east_asian_width(char) in "WF":
        return 1.05
    if char in "ijlIt.,:;'|!()[] fr":
        return 0.34
    if char in "mwMW%@":
        return 0.9
    return 0.66 if char.isupper() else 0.57


def width_of(text: str, size: float) -> float:
    """Return about how wide a text is when set at `size`, in the same unit."""
    return sum(_wide(c) for c in text) * size


def fitted(text: str, width: float, size: float) -> str:
    """Return the text, cut with an ellipsis where it is wider than `width`."""
    text = " ".join(clean(text).split())
    if width_of(text, size) <= width:
        return isolated(text)
    kept, used = "", _wide("…") * size
    for char in text:
        used += _wide(char) * size
        if used > width:
            break
        kept += char
    return isolated(kept.rstrip("\u200d ") + "…")


def broken(text: str, width: float, size: float) -> tuple[str, ...]:
    """Return the text on one line or two, the second cut where it is too wide."""
    words = clean(text).split()
    first = ""
    while words and width_of(f"{first} {words[0]}".strip(), size) <= width:
        first = f"{first} {words.pop(0)}".strip()
    rest = " ".join(words)
    if not first:
        return (fitted(rest, width, size),)
    return (isolated(first), fitted(rest, width, size)) if rest else (isolated(first),)


def add(parent: Node, tag: str, text: str | None = None, **attrs: str | float) -> Node:
    """Return a new child; `class_` stands for class, underscores for hyphens."""
    made = ET.SubElement(parent, tag, _named(attrs))
    if text is not None:
        made.text = clean(text)
    return made


def _named(attrs: dict[str, str | float]) -> dict[str, str]:
    return {
        k.rstrip("_").replace("_", "-"): clean(v) if isinstance(v, str) else num(v)
        for k, v in attrs.items()
    }


def picture(
    width: float, height: float, *, id_: str, title: str, story: str, **attrs: str
) -> Node:
    """Return an empty picture with a title and a description for those who listen."""
    root = ET.Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "viewBox": f"0 0 {num(width)} {num(height)}",
            "width": num(width),
            "height": num(height),
            "role": "img",
            "aria-labelledby": f"{id_}-title",
            "aria-describedby": f"{id_}-story",
            **_named(dict(attrs)),
        },
    )
    add(root, "title", title, id=f"{id_}-title")
    add(root, "desc", story, id=f"{id_}-story")
    return root


def on_paper(width: float, height: float) -> str:
    """Return a style by which a picture of its own fits a sheet of paper, all of it."""
    way = "landscape" if width > height else "portrait"
    fits = "svg{display:block;width:100%;height:auto;max-height:98vh}"
    return f"@page{{size:{way};margin:8mm}}@media print{{{fits}}}"


def line_path(points: list[tuple[float, float]], *, closed: bool = False) -> str:
    """Return a path through points, those that fall on the one before left out."""
    steps = [key for key, _ in groupby(f"{num(x)} {num(y)}" for x, y in points)]
    return "M" + "L".join(steps) + ("Z" if closed else "")


def block(left: float, right: float, top: float, height: float) -> str:
    """Return the path of an upright block, a unit wide at least."""
    wide = num(max(right - left, 1.0))
    return f"M{num(left)} {num(top)}h{wide}v{num(height)}h-{wide}z"


def rounded_path(points: list[tuple[float, float]], radius: float) -> str:
    """Return a path along upright and level stretches, its corners rounded."""
    out = f"M{num(points[0][0])} {num(points[0][1])}"
    for before, here, after in zip(points, points[1:], points[2:], strict=False):
        a = _towards(here, before, radius)
        b = _towards(here, after, radius)
        out += f"L{num(a[0])} {num(a[1])}"
        out += f"Q{num(here[0])} {num(here[1])} {num(b[0])} {num(b[1])}"
    return out + f"L{num(points[-1][0])} {num(points[-1][1])}"


def _towards(
    start: tuple[float, float], end: tuple[float, float], length: float
) -> tuple[float, float]:
    dx, dy = end[0] - start[0], end[1] - start[1]
    far = abs(dx) + abs(dy)
    share = min(length, far / 2) / far if far else 0.0
    return start[0] + dx * share, start[1] + dy * share


def markup(root: Node) -> Markup:
    """Return a picture as text for a template; the tree has escaped what it holds.

    A page holds thousands of elements: the space that ends each empty one is left out.
    """
    return Markup(ET.tostring(root, encoding="unicode").replace(" />", "/>"))


def file_bytes(root: Node) -> bytes:
    """Return a picture as a file of its own."""
    body = ET.tostring(root, encoding="utf-8", xml_declaration=True)
    return bytes(body) + b"\n"

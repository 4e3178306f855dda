"""Pages of what a person may choose between: whole by themselves, nothing cut or lost.

Tests of planner/report/choices/compare_page.py,
planner/report/choices/compare_picture.py, planner/report/choices/page.py.
"""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from html.parser import HTMLParser
from xml.etree import ElementTree as ET
from zoneinfo import ZoneInfo

import pytest

from planner.nouns.choices.comparison import (
    Alternative,
    BackBy,
    Comparison,
    Figures,
)
from planner.nouns.work import ReturnKind
from planner.report.choices.compare_page import compare_page
from planner.report.choices.compare_picture import compare_node, compare_svg
from planner.report.choices.page import (
    ChoicePage,
    ChoicePart,
    ChoiceTable,
    choice_page,
)
from planner.report.drawing.elements import add, picture


class Read(HTMLParser):
    """What a reader gets of a page: its tags with their attributes, and its words."""

    def __init__(self, page: bytes) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self.feed(page.decode())

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data):
        self.words.append(data)

    def of(self, tag: str) -> list[dict[str, str | None]]:
        """Return the attributes of each element of a name."""
        return [attrs for name, attrs in self.tags if name == tag]


def drawn(id_: str):
    root = picture(10, 10, id_=id_, title="a picture", story="what it shows")
    add(root, "text", "O'Neill & <sons>")
    return root


TABLE = ChoiceTable(
    caption="what is gained",
    head=("change", "days"),
    rows=(("one <more> painter", "+1.5"), ("foam & co", "-2.0")),
    numbers=frozenset({1}),
)
PAGE = ChoicePage(
    job="Studio <B>",
    answers="what would help",
    facts=("times in America/Halifax",),
    parts=(
        ChoicePart(heading="In short", says=("first", "second")),
        ChoicePart(
            heading="Gains",
            picture=drawn("wide"),
            narrow=drawn("narrow"),
            table=TABLE,
            items=("an item",),
            code=("--change 'a=\"1\"'",),
        ),
    ),
)


def test_a_page_holds_all_it_is_given_with_names_as_text():
    read = Read(choice_page(PAGE))
    words = " ".join(" ".join(read.words).split())
    for said in ("Studio <B>", "one <more> painter", "foam & co", "O'Neill & <sons>"):
        assert said in words
    for said in ("In short", "first", "second", "an item", "--change 'a=\"1\"'"):
        assert said in words
    assert not {"b", "more", "sons"} & {tag for tag, _ in read.tags}
    assert [x.get("class") for x in read.of("td")] == ["n", "n"]
    assert len(read.of("svg")) == 2


def test_a_page_needs_neither_network_nor_script():
    read = Read(choice_page(PAGE))
    names = {tag for tag, _ in read.tags}
    assert not names & {"script", "link", "img", "iframe", "base"}
    assert not any("src" in attrs or "href" in attrs for _, attrs in read.tags)
    (policy,) = [
        x["content"]
        for x in read.of("meta")
        if x.get("http-equiv") == "Content-Security-Policy"
    ]
    assert policy is not None
    assert policy.startswith("default-src 'none'")


def test_rows_that_the_head_doesnt_fit_are_refused():
    with pytest.raises(ValueError, match="what is gained"):
        ChoiceTable(caption="what is gained", head=("a", "b"), rows=(("1",),))


# ------------------------------------------------------------- the page of a comparison

ZONE = ZoneInfo("America/Halifax")
START = datetime(2027, 2, 12, 13, 30, tzinfo=UTC)


def figures(kept: float, cost: float | None = 1000) -> Figures:
    """A plan that keeps a date so many days after its start."""
    return Figures(
        closure=(START, START + timedelta(days=10)),
        returns=(
            BackBy(
                kind=ReturnKind.FULL_SERVICE,
                planned=START + timedelta(days=10),
                kept=START + timedelta(days=kept),
            ),
        ),
        stage_cost=cost,
        labour_cost=None,
        binds=("Colour coat 2 cures 115 h",),
        minutes=(),
        proven=True,
    )


def compared(*kept: tuple[str, float, float | None], unknown: int = 0) -> Comparison:
    return Comparison(
        job="A <wall>",
        zone=ZONE.key,
        currency="CAD",
        futures=1000,
        seed=1,
        sure_percent=80,
        as_it_is=Alternative(title="as it is", changes=(), figures=figures(20)),
        alternatives=(
            *(
                Alternative(
                    title=title,
                    changes=(title,),
                    figures=figures(days, cost),
                    say="a=1",
                )
                for title, days, cost in kept
            ),
            *(
                Alternative(
                    title=f"none {n}", changes=("x",), figures=None, why="why so"
                )
                for n in range(unknown)
            ),
        ),
    )


FOUND = compared(
    ("one more painter", 17, 1300),
    ("foam", 19, 900),
    ("heat", 22, 1000),
    unknown=1,
)


def bars(root: ET.Element) -> list[tuple[str | None, float, float]]:
    """Return each bar's kind, and its left and right edge."""
    return [
        (
            r.get("class"),
            float(r.get("x", 0)),
            float(r.get("x", 0)) + float(r.get("width", 0)),
        )
        for r in root.iter()
        if r.tag.endswith("rect") and r.get("class") in ("cgain", "closs")
    ]


@pytest.mark.parametrize("narrow", [False, True])
def test_bars_lead_from_the_date_as_it_is_to_that_of_each_change(narrow):
    """17, 19 and 22 days against 20: three and one sooner, two later."""
    root = compare_node(FOUND, narrow=narrow)
    dates = [b for b in bars(root) if narrow or b[1] < 760]
    (k1, a1, b1), (k2, a2, b2), (k3, a3, b3) = dates
    assert (k1, k2, k3) == ("cgain", "cgain", "closs")
    assert b1 == pytest.approx(b2, abs=0.2) == pytest.approx(a3, abs=0.2)
    assert b1 - a1 == pytest.approx(3 * (b2 - a2), abs=0.3)
    assert b3 - a3 == pytest.approx(2 * (b2 - a2), abs=0.3)


def test_what_is_cheaper_lies_left_and_is_solid_and_what_is_dearer_right_and_hatched():
    costs = [b for b in bars(compare_node(FOUND)) if b[1] > 760]
    (dearer, a1, b1), (cheaper, a2, b2), (_, a3, b3) = costs
    assert (dearer, cheaper) == ("closs", "cgain")
    assert a1 == pytest.approx(b2, abs=0.1)
    assert b1 - a1 == pytest.approx(3 * (b2 - a2), abs=0.3)
    assert b3 - a3 == pytest.approx(1.0)  # no more and no less: a hair


def test_rows_stand_in_the_order_of_the_ranking_whatever_that_of_the_file():
    moved = replace(FOUND, alternatives=FOUND.alternatives[::-1])
    assert compare_svg(moved) == compare_svg(FOUND)


def test_nothing_of_a_picture_lies_outside_it_whatever_the_titles():
    long = "all of the crew stay much longer than anybody would wish to " * 3
    found = compared((long, 3, -20_000), ("b", 60, 90_000))
    for narrow in (False, True):
        root = compare_node(found, narrow=narrow)
        width = float(root.get("width", 0))
        for node in root.iter():
            x = node.get("x")
            if x is not None:
                assert 0 <= float(x) <= width
        assert all(0 <= a <= b <= width for _, a, b in bars(root))


def test_a_page_of_levers_tells_what_the_words_tell():
    read = Read(compare_page(FOUND, levers=True))
    words = " ".join(" ".join(read.words).split())
    assert "A <wall>" in words
    for said in ("one more painter", "+3.0", "+300", "100", "Mon 1 Mar 2027"):
        assert said in words
    assert "heat: loses 2 days; Colour coat 2 cures 115 h" in words.replace("\xa0", " ")
    assert "none 0: no plan: why so" in words
    assert "--change a=1" in words
    assert "assumed, not asked for" in words
    plain = Read(compare_page(FOUND, levers=False))
    assert "assumed, not asked for" not in " ".join(plain.words)
    assert "none 0: no plan: why so" in " ".join(plain.words)


def test_without_rates_no_money_is_drawn_or_told():
    found = compared(("a", 19, None))
    base = replace(found.as_it_is, figures=figures(20, None))
    found = replace(found, as_it_is=base)
    assert "CAD" not in " ".join(Read(compare_page(found, levers=True)).words)
    assert len(bars(compare_node(found))) == 1


def test_where_no_date_is_known_the_picture_says_so():
    found = compared(unknown=2)
    assert bars(compare_node(found)) == []
    assert b"nothing to show" in compare_svg(found)
    assert compare_page(found, levers=False)

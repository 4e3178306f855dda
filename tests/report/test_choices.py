"""Pages of what a person may choose between: whole by themselves, nothing cut or lost.

Tests of planner/report/choices/page.py.
"""

from html.parser import HTMLParser

import pytest

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

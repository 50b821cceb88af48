"""Pages as HTML: self-contained, escaped, well formed."""

from __future__ import annotations

import re
from html.parser import HTMLParser

import pytest
from attrs import evolve
from hypothesis import example, given
from hypothesis import strategies as st

from fitprofile.errors import Problem
from fitprofile.report.garage import Failed, garage_page
from fitprofile.report.html import PAPERS, render_html
from fitprofile.report.sheet import transfer_sheet
from fitprofile.stages.outcome import Transfer
from tests.report import samples

VOID = {"meta", "line", "circle", "polygon", "path", "rect"}
ALLOWED = {
    *("html", "head", "meta", "title", "style", "body", "header", "main", "footer", "section"),
    *("p", "small", "strong", "em", "bdi", "span", "h1", "h2", "dl", "div", "dt", "dd"),
    *("table", "caption", "thead", "tbody", "tr", "th", "td", "ul", "ol", "li"),
    *("svg", "line", "circle", "polygon", "path", "rect", "text"),
}
NASTY = "<script>alert('x')</script>\"&<img src=x onerror=y>"


Attributes = list[tuple[str, str | None]]


class Reader(HTMLParser):
    """Tags that open and close, attributes, and the text between them."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str, str | None]] = []
        self.text: list[str] = []

    def handle_starttag(self, tag: str, attrs: Attributes) -> None:
        self.tags.append(tag)
        self.attributes += [(tag, name, value) for name, value in attrs]
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: Attributes) -> None:
        self.tags.append(tag)
        self.attributes += [(tag, name, value) for name, value in attrs]

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.text.append(data)


def read(html: str) -> Reader:
    reader = Reader()
    reader.feed(html)
    reader.close()
    assert reader.open == []
    return reader


def sheet(transfer: Transfer) -> str:
    return render_html(transfer_sheet(transfer, samples.DATE))


def garage(name: str) -> str:
    lost = Failed(key="crow", name=name, problems=(Problem(name, "heights.seat"),))
    rider = evolve(samples.RIDER, name=name)
    named = evolve(samples.one_piece(), bike=evolve(samples.TWIN, name=name))
    return render_html(garage_page(rider, samples.USE, [named], [lost], samples.DATE))


def documents() -> list[str]:
    return [*(sheet(sample()) for sample in samples.EVERYTHING), garage("Ada")]


def test_nothing_is_fetched_and_nothing_runs() -> None:
    """No script, no address, no handler, no reference at all; a strict content policy."""
    for html in documents():
        reader = read(html)
        assert set(reader.tags) <= ALLOWED
        names = {name for _, name, _ in reader.attributes}
        assert not names & {"src", "href", "srcset", "xlink:href", "action", "data", "style"}
        assert not any(name.startswith("on") for name in names)
        addresses = re.findall(r"https?://[^\"<> ]*", html)
        assert set(addresses) == {"http://www.w3.org/2000/svg"}
        assert "url(" not in html
        assert "@import" not in html
        policy = "default-src 'none'; style-src 'unsafe-inline'"
        assert ("meta", "content", policy) in reader.attributes


def test_title_language_and_words_for_drawings() -> None:
    """What a reader who does not see needs."""
    html = sheet(samples.one_piece())
    reader = read(html)
    assert ("html", "lang", "en-GB") in reader.attributes
    assert "<title>Transfer sheet: Ada (invented) \N{RIGHTWARDS ARROW} Teal" in html
    pictures = re.findall(r"<svg[^>]*role=\"img\"[^>]*><title>([^<]+)</title>", html)
    assert len(pictures) == reader.tags.count("svg")
    assert all(pictures)


def test_a_table_with_row_heads_has_no_head_in_its_corner() -> None:
    """A corner that heads nothing confuses readers of tagged PDF."""
    for html in documents():
        for head in re.findall(r"<thead[^>]*><tr[^>]*>(<t[hd])", html):
            assert head == "<td"


def test_the_paper_is_chosen_by_name() -> None:
    """Anything else is the programmer's mistake."""
    page = transfer_sheet(samples.at_home(), samples.DATE)
    assert "size: A4;" in render_html(page)
    assert "size: letter;" in render_html(page, PAPERS[1])
    with pytest.raises(ValueError, match="paper"):
        render_html(page, "A3; } body { display: none")


@given(st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1, max_size=80))
@example(NASTY)
@example("</style><style>*{display:none}</style>")
@example("{{ 7 * 7 }}{% raw %}")
@example("\N{RIGHT-TO-LEFT OVERRIDE}" + "W" * 79)
@example("\N{HEBREW LETTER SHIN}\N{HEBREW LETTER LAMED} 10x20 -> ]]>")
def test_whatever_a_name_holds_comes_out_as_text(name: str) -> None:
    """Same tags as with a harmless name, and the name itself to be read, isolated."""
    made = samples.one_piece()
    problem = Problem(name, name, name, 3, "warning")
    nasty = evolve(
        made,
        rider=evolve(made.rider, name=name),
        bike=evolve(made.bike, name=name, mileage=name),
        use=name,
        matters_most=name,
        problems=(problem,),
    )
    plain = evolve(nasty, rider=samples.RIDER, bike=samples.TWIN, use="road", matters_most="x")
    plain = evolve(plain, problems=(evolve(problem, text="x", key="x", file="x"),))
    found, expected = read(sheet(nasty)), read(sheet(plain))
    assert found.tags == expected.tags
    assert [a[:2] for a in found.attributes if a[1] != "class"] == [
        a[:2] for a in expected.attributes if a[1] != "class"
    ]
    assert name in found.text
    assert read(garage(name)).tags == read(garage("x")).tags


def test_words_of_a_file_keep_their_own_direction() -> None:
    """Names stand in elements that isolate them."""
    assert "<bdi>Teal 650 twin (invented)</bdi>" in sheet(samples.one_piece())

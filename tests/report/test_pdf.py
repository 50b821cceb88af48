"""PDF: tagged, complete, sealed; and clear words where it cannot be made."""

from __future__ import annotations

import ctypes.util
import gc
import io
import sys
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pypdf
import pypdfium2
import pytest
from attrs import evolve

from fitprofile.model.parts import Catalogue
from fitprofile.report import pdf as module
from fitprofile.report.checks import STOP_CHECKS
from fitprofile.report.garage import garage_page
from fitprofile.report.html import PAPERS
from fitprofile.report.page import Cell, Heading, Items, Page, Row, Table, text
from fitprofile.report.pdf import render_pdf
from fitprofile.report.sheet import transfer_sheet
from fitprofile.stages.chain import prepare, transfer, with_plans
from fitprofile.stages.outcome import Transfer
from fitprofile.store.workspace import Workspace
from tests.report import samples

POINT = 25.4 / 72.0
"""mm (PDF 32000-1:2008, 8.3.2.3: default user space unit is 1/72 inch)."""

SIZES = {"A4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""mm (ISO 216; ANSI/ASME Y14.1)."""


@cache
def rendered(sample: Callable[[], Transfer], paper: str) -> bytes:
    pdf, problems = render_pdf(transfer_sheet(sample(), samples.DATE), paper)
    assert problems == ()
    assert pdf is not None
    return pdf


def text_of(pdf: bytes) -> str:
    document = pypdfium2.PdfDocument(pdf)
    pages = [page.get_textpage().get_text_bounded() for page in document]
    return " ".join(" ".join(pages).split())


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("sample", samples.EVERYTHING)
def test_a_sheet_is_one_or_two_pages(sample: Callable[[], Transfer], paper: str) -> None:
    """A4 and letter, upright."""
    document = pypdfium2.PdfDocument(rendered(sample, paper))
    assert 1 <= len(document) <= 2
    for page in document:
        shown = [size * POINT for size in page.get_size()]
        assert shown == pytest.approx(SIZES[paper], abs=0.3)


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize(("rider", "bike"), [("torvan", "sorrel"), ("nela", "sorrel")])
def test_the_fullest_sheets_of_the_demo_have_two_pages(rider: str, bike: str, paper: str) -> None:
    """Clip-ons, every number outside, every step, and a box on top: letter is the shorter one."""
    pdf, problems = render_pdf(transfer_sheet(demo(rider, bike), samples.DATE), paper)
    assert problems == ()
    assert pdf is not None
    assert len(pypdfium2.PdfDocument(pdf)) == 2


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize(("rider", "bike"), [("nela", "sorrel"), ("torvan", "thistle")])
def test_the_fullest_planned_sheets_leave_no_page_with_a_few_lines(
    rider: str, bike: str, paper: str
) -> None:
    """What does not fit is the stop checks, whole and with their cautions."""
    pdf, _ = render_pdf(transfer_sheet(demo(rider, bike, plans=True), samples.DATE), paper)
    assert pdf is not None
    assert all(len(lines_of(one)) >= 8 for one in pypdfium2.PdfDocument(pdf))


def test_no_page_ends_with_a_heading_or_a_table_s_head() -> None:
    """Wherever on a page a table begins: heading, head and first row stay together.

    Nor does a page begin with the last row alone.
    """
    feet = []
    for above in range(48, 70):
        rows = tuple(Row((Cell((text(f"row {at}"),)), Cell())) for at in range(12))
        table = Table(caption="Told", head=("", "Check", "Limit"), rows=rows, kind="checks")
        blocks = (
            Items(items=tuple(text(f"line {at}") for at in range(above))),
            Heading("Workshop checks", "worst first"),
            table,
        )
        page = Page(title="t", kind="k", heading=text("h"), facts=(), date="d", blocks=blocks)
        pdf, _ = render_pdf(page)
        assert pdf is not None
        document = pypdfium2.PdfDocument(pdf)
        feet += [line for line in lines_of(document[0]) if line != table.caption][-1:]
        if len(document) > 1:
            over = [line for line in lines_of(document[1]) if line.startswith("row")]
            assert len(over) != 1
    assert {foot.partition(" ")[0] for foot in feet} == {"row", "line"}


FOOTER = 24.0
"""Points above the paper's edge, under which only the running footer stands."""


def lines_of(page: Any) -> list[str]:
    """Words of a page by line, from top to bottom, without its footer."""
    text, lines = page.get_textpage(), dict[int, list[tuple[float, str]]]()
    for at in range(text.count_rects()):
        left, bottom, right, top = text.get_rect(at)
        if bottom < FOOTER:
            continue
        words = text.get_text_bounded(left, bottom, right, top).strip()
        near = next((y for y in lines if abs(y - bottom) < 2.5), round(bottom))
        lines.setdefault(near, []).append((left, words))
    return [" ".join(words for _, words in sorted(lines[y])) for y in sorted(lines, reverse=True)]


def test_lines_are_read_from_top_to_bottom() -> None:
    """The first is the sheet's kind, the last before the footer is no footer."""
    lines = lines_of(pypdfium2.PdfDocument(rendered(samples.one_piece, "A4"))[0])
    assert lines[0] == f"TRANSFER SHEET {samples.DATE}"
    assert not any("page 1 of" in line for line in lines)


def demo(rider: str, bike: str, *, plans: bool = False) -> Transfer:
    """A transfer of the demo's first cockpit, its problems with their lines."""
    workspace = Workspace(Path(__file__).parents[2])
    person, shop = workspace.rider(rider)[0], workspace.shop()[0]
    bikes = {key: workspace.bike(key)[0] for key in workspace.bike_keys()}
    known = {key: one for key, one in bikes.items() if one is not None}
    assert person is not None
    assert shop is not None
    ready, _ = prepare(person, known, shop)
    assert ready is not None
    made, found = transfer(ready, known[bike], next(iter(person.cockpits)))
    assert made is not None
    if plans:
        made = with_plans(ready, made, workspace.catalogue()[0] or Catalogue())
    return evolve(made, problems=tuple(workspace.locate(found)))


def test_the_text_holds_names_numbers_and_checks() -> None:
    """What a workshop looks for can be searched and copied."""
    text = text_of(rendered(samples.one_piece, "A4"))
    for wanted in (
        "Ada (invented)",
        "Teal 650 twin (invented)",
        "742 mm",
        "800 mm",
        "31 1/2″",
        "742 → 800",
        "\N{MINUS SIGN}8°",
        "would become a slot 7 mm long (cannot be undone)",
        "page 1 of 2",
        samples.DATE,
        *STOP_CHECKS,
    ):
        assert wanted in text


def test_it_is_tagged_with_title_language_and_words_for_every_drawing() -> None:
    """Declares PDF/UA-1 (ISO 14289-1); figures carry an alternative text."""
    reader = pypdf.PdfReader(io.BytesIO(rendered(samples.one_piece, "A4")))
    root: Any = reader.trailer["/Root"]
    assert root["/Lang"] == "en-GB"
    assert root["/MarkInfo"]["/Marked"].value is True
    assert root["/ViewerPreferences"]["/DisplayDocTitle"].value is True
    assert reader.metadata is not None
    assert str(reader.metadata.title).startswith("Transfer sheet: Ada (invented)")
    assert b"pdfuaid" in root["/Metadata"].get_data()
    kinds, alternatives = set(), []
    for element in structure(root["/StructTreeRoot"]):
        kinds.add(element["/S"])
        if element["/S"] == "/Figure":
            alternatives.append(element["/Alt"])
    assert {"/H1", "/H2", "/Table", "/TH", "/TD", "/Figure", "/L"} <= kinds
    assert any("Cockpit triangle from above" in words for words in alternatives)
    assert all(alternatives)


def structure(element: Any) -> Iterator[Any]:
    """Every structure element below one."""
    children = element.get("/K", [])
    for child in children if isinstance(children, list) else [children]:
        found = child.get_object()
        if isinstance(found, dict) and "/S" in found:
            yield found
            yield from structure(found)


def test_the_garage_lies_on_its_side() -> None:
    """A4 landscape, with every bike's name."""
    bikes = [sample() for sample in samples.EVERYTHING]
    page = garage_page(samples.RIDER, samples.USE, bikes, [], samples.DATE)
    pdf, problems = render_pdf(page)
    assert problems == ()
    assert pdf is not None
    document = pypdfium2.PdfDocument(pdf)
    width, height = document[0].get_size()
    assert width > height
    text = text_of(pdf)
    assert all(one.bike.name in text for one in bikes)


def test_the_same_page_gives_the_same_bytes() -> None:
    """On one machine."""
    page = transfer_sheet(samples.at_home(), samples.DATE)
    assert render_pdf(page)[0] == rendered(samples.at_home, "A4")


def test_long_and_hostile_names_stay_on_two_pages_inside_the_margins() -> None:
    """80 characters without a space, tags, quotes."""
    made = samples.one_piece()
    rider = evolve(made.rider, name="W" * 80)
    bike = evolve(made.bike, name='<script>alert(1)</script> & "quotes" 10x20 -> 30')
    pdf, problems = render_pdf(transfer_sheet(evolve(made, rider=rider, bike=bike), samples.DATE))
    assert problems == ()
    assert pdf is not None
    document = pypdfium2.PdfDocument(pdf)
    assert len(document) <= 2
    for page in document:
        width, _ = page.get_size()
        text = page.get_textpage()
        boxes = [text.get_charbox(at) for at in range(text.count_chars())]
        assert all(right <= width for _, _, right, _ in boxes)
    assert "<script>alert(1)</script>" in text_of(pdf)


def test_a_character_without_a_glyph_is_warned_of(monkeypatch: pytest.MonkeyPatch) -> None:
    """By name and code, with what to install."""
    lost = tuple("\u5c71\u7530\u592a\u90ce\u5b50\u4e00")
    monkeypatch.setattr(module, "without_glyph", lambda _words: lost)
    pdf, problems = render_pdf(transfer_sheet(samples.at_home(), samples.DATE))
    assert pdf is not None
    (problem,) = problems
    assert problem.level == "warning"
    assert "U+5C71" in problem.text
    assert "and others" in problem.text
    assert "fonts-noto-cjk" in problem.text


def test_the_renderer_opens_no_file_and_no_address(tmp_path: Path) -> None:
    """Whatever a page asked for, the door is closed."""
    from weasyprint import HTML
    from weasyprint.urls import FatalURLFetchingError

    secret = tmp_path / "secret.txt"
    secret.write_text("secret")
    for address in (secret.as_uri(), "http://127.0.0.1:9/x.png", "data:text/plain,x"):
        for element in (
            f'<img src="{address}">',
            f'<link rel="attachment" href="{address}">',
            f'<link rel="stylesheet" href="{address}">',
            f'<div style="background: url({address})">x</div>',
        ):
            with pytest.raises(FatalURLFetchingError, match="may fetch nothing"):
                HTML(string=element, url_fetcher=module._sealed()).write_pdf()


def test_without_weasyprint_there_is_a_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    """And no PDF."""
    monkeypatch.setitem(sys.modules, "weasyprint", None)
    pdf, problems = render_pdf(transfer_sheet(samples.at_home(), samples.DATE))
    assert pdf is None
    assert "pip install 'fitprofile[pdf]'" in problems[0].text


def test_without_a_system_library_there_is_a_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    """That names the library and the package."""

    def fail(_name: str) -> None:
        raise OSError("cannot load library 'libgobject-2.0-0': no such file")

    monkeypatch.setattr(module, "import_module", fail)
    pdf, problems = render_pdf(transfer_sheet(samples.at_home(), samples.DATE))
    assert pdf is None
    assert "libgobject-2.0-0" in problems[0].text
    assert "libpangoft2-1.0-0" in problems[0].text


def test_without_any_font_there_is_a_sentence_and_no_crash(monkeypatch: pytest.MonkeyPatch) -> None:
    """Laying out text would end the process."""
    monkeypatch.setattr(module, "count_fonts", lambda: 0)
    pdf, problems = render_pdf(transfer_sheet(samples.at_home(), samples.DATE))
    assert pdf is None
    assert "fonts-inter" in problems[0].text


def test_the_search_for_libraries_is_given_back() -> None:
    """Only the import goes without it."""
    before = ctypes.util.find_library
    with module._no_search():
        changed = ctypes.util.find_library
    assert ctypes.util.find_library is before
    assert (changed is before) is (sys.platform != "linux")
    assert module._not_found("c") is None


def test_garbage_is_collected_again_afterwards() -> None:
    """Also where it was off before: then it stays off."""
    with module._no_collecting():
        assert not gc.isenabled()
        with module._no_collecting():
            pass
        assert not gc.isenabled()
    assert gc.isenabled()

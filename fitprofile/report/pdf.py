"""The page model as PDF: the same HTML, laid out by WeasyPrint behind a closed door.

The renderer may open no file and no address. It is imported only when a PDF is asked for, and
what a machine lacks for it comes back as a `Problem`, never as a crash.
"""

from __future__ import annotations

import ctypes.util
import gc
import logging
import sys
import warnings
from collections.abc import Iterator
from contextlib import contextmanager, redirect_stdout
from importlib import import_module
from io import StringIO
from types import ModuleType

from fitprofile.errors import WARNING, Problem
from fitprofile.report.fonts import count_fonts, without_glyph
from fitprofile.report.html import PAPERS, render_html
from fitprofile.report.page import Page
from fitprofile.report.wording import joined

VARIANT = "pdf/ua-1"
"""Tagged, with title, language and words for drawings (ISO 14289-1)."""

NO_RENDERER = (
    "no PDF was made, the HTML is complete: WeasyPrint is not installed; "
    "run pip install 'fitprofile[pdf]'"
)
NO_LIBRARY = (
    "no PDF was made, the HTML is complete: a system library is missing ({}); on Debian or Ubuntu "
    "run apt-get install libpangoft2-1.0-0 libharfbuzz-subset0"
)
NO_FONT = (
    "no PDF was made, the HTML is complete: this machine has no fonts; on Debian or Ubuntu run "
    "apt-get install fonts-inter fonts-dejavu-core"
)
NO_GLYPH = (
    "no font on this machine has the character{} {}, so the PDF shows a box there and its text may "
    "not copy; install a font that has {}, such as fonts-noto-core or fonts-noto-cjk"
)
MOST_NAMED = 5
"""Characters without a glyph that a problem names."""


def render_pdf(page: Page, paper: str = PAPERS[0]) -> tuple[bytes | None, tuple[Problem, ...]]:
    """A page as a tagged PDF.

    Parameters
    ----------
    page : Page
    paper : str
        One of `fitprofile.report.html.PAPERS`.

    Returns
    -------
    pdf : bytes or None
        ``None`` where the machine cannot make one.
    problems : tuple of Problem
        What is missing, and how to install it; characters that no font has.

    Notes
    -----
    The same page gives the same bytes on one machine.
    """
    source = render_html(page, paper)
    with _no_collecting():
        weasyprint, problems = _renderer()
        if weasyprint is None:
            return None, problems
        document = weasyprint.HTML(string=source, url_fetcher=_sealed())
        pdf: bytes = document.write_pdf(pdf_variant=VARIANT)
    return pdf, _glyph_problems(source)


@contextmanager
def _no_collecting() -> Iterator[None]:
    """Boxes live until a page is written: looking for garbage would cost a tenth of a sheet."""
    collecting = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if collecting:
            gc.enable()


def _renderer() -> tuple[ModuleType | None, tuple[Problem, ...]]:
    """WeasyPrint, or why it cannot work here."""
    try:
        with _no_search(), redirect_stdout(StringIO()), warnings.catch_warnings():
            warnings.simplefilter("ignore")
            weasyprint = import_module("weasyprint")
    except ImportError:
        return None, (Problem(NO_RENDERER, level=WARNING),)
    except OSError as error:
        # A library that cannot be loaded; its name is the first thing in quotes.
        name = [*str(error).split("'"), "", "?"][1]
        return None, (Problem(NO_LIBRARY.format(name), level=WARNING),)
    # Laying out text on a machine without any font takes the whole process down.
    if count_fonts() == 0:
        return None, (Problem(NO_FONT, level=WARNING),)
    # It warns of every property that it leaves to browsers.
    logging.getLogger("weasyprint").setLevel(logging.ERROR)
    return weasyprint, ()


@contextmanager
def _no_search() -> Iterator[None]:
    """Import without asking the compiler where libraries are.

    The first names that WeasyPrint tries are not Linux ones; for each of them Python then runs
    ldconfig, gcc and ld, 86 processes in 0.3 s. The names it tries next are found at once.
    """
    search = ctypes.util.find_library
    if sys.platform == "linux":
        ctypes.util.find_library = _not_found
    try:
        yield
    finally:
        ctypes.util.find_library = search


def _not_found(name: str) -> str | None:  # noqa: ARG001 - the signature of what it stands for
    """In place of `ctypes.util.find_library`."""
    return None


def _sealed() -> object:
    """A fetcher that opens nothing; a page that asks for anything is a mistake of ours."""
    urls = import_module("weasyprint.urls")

    class Sealed(urls.URLFetcher):  # type: ignore[misc, name-defined]
        """Refuses every address, files included."""

        def fetch(self, url: str, headers: object = None) -> object:  # noqa: ARG002 - as above it
            """Stop the rendering."""
            raise urls.FatalURLFetchingError(f"a page may fetch nothing, and asked for {url[:80]}")

    return Sealed(allowed_protocols=(), allow_redirects=False)


def _glyph_problems(source: str) -> tuple[Problem, ...]:
    """A warning that names characters which no font has."""
    lost = without_glyph([source])
    if not lost:
        return ()
    named = [f"{char} (U+{ord(char):04X})" for char in lost[:MOST_NAMED]]
    more = ["others"] if len(lost) > MOST_NAMED else []
    many = len(lost) > 1
    text = NO_GLYPH.format("s" if many else "", joined([*named, *more]), "them" if many else "it")
    return (Problem(text, level=WARNING),)

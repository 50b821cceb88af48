"""The page model as HTML: one file, no script, nothing fetched, strict content policy."""

from __future__ import annotations

from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined, Template
from markupsafe import Markup, escape

from fitprofile import __version__
from fitprofile.report.drawing import attribute
from fitprofile.report.page import Drawing, Page, Shape

PAPERS = ("A4", "letter")
"""Papers that a page can be printed on, as CSS names them."""


def render_html(page: Page, paper: str = PAPERS[0]) -> str:
    """A page as one self-contained HTML document.

    Parameters
    ----------
    page : Page
    paper : str
        One of `PAPERS`: what the browser, or the PDF, prints it on.

    Returns
    -------
    str
        Text to be written as UTF-8. Every word of the page is escaped.

    Raises
    ------
    ValueError
        If the paper is not one of `PAPERS`.
    """
    if paper not in PAPERS:
        raise ValueError(f"paper is one of {', '.join(PAPERS)}, not {paper!r}")
    return _template().render(page=page, paper=paper, version=__version__)


def render_svg(drawing: Drawing) -> Markup:
    """A drawing as inline SVG with its words for readers who do not see it."""
    inside = Markup("").join(_element(shape) for shape in drawing.shapes)
    return Markup(
        '<svg xmlns="http://www.w3.org/2000/svg" role="img" width="{}mm" height="{}mm" '
        'viewBox="0 0 {} {}"><title>{}</title>{}</svg>'
    ).format(drawing.width, drawing.height, drawing.width, drawing.height, drawing.alt, inside)


def _element(shape: Shape) -> Markup:
    look = Markup("").join(
        Markup(' {}="{}"').format(name, attribute(value))
        for name, value in shape.attributes.items()
    )
    if not shape.words:
        return Markup("<{}{}/>").format(shape.tag, look)
    return Markup("<{0}{1}>{2}</{0}>").format(shape.tag, look, escape(shape.words))


@cache
def _template() -> Template:
    """The template, compiled once a process."""
    environment = Environment(
        loader=PackageLoader("fitprofile.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
    )
    environment.globals["svg"] = render_svg
    return environment.get_template("page.html.j2")

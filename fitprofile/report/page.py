"""The page model: what a report says, before any medium. Built by `sheet` and `garage`.

Every text is plain text; escaping belongs to the medium. Words that a person wrote stand in
spans of kind `USER`, so that a medium can isolate their direction of writing.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypeAlias

from attrs import field

from fitprofile.values import frozen

PLAIN = "plain"
STRONG = "strong"
SMALL = "small"
FLAG = "flag"
"""Small, and not to be missed."""
GAP = "gap"
"""A figure that does not exist, with the reason."""
USER = "user"
"""Words out of a file."""

FIGURE = "figure"
TICK = "tick"
BOX = "box"
"""Kinds of cell: a figure, a box to tick, an empty box to write in."""


@frozen
class Span:
    """A run of text of one kind: `PLAIN`, `STRONG`, `SMALL`, `FLAG`, `GAP` or `USER`."""

    text: str
    kind: str = PLAIN


Text: TypeAlias = tuple[Span, ...]


def text(*parts: str | Span) -> Text:
    """Spans from strings and spans; empty strings are left out."""
    spans = (part if isinstance(part, Span) else Span(part) for part in parts)
    return tuple(span for span in spans if span.text)


def strong(words: str) -> Span:
    """Words that carry the message."""
    return Span(words, STRONG)


def small(words: str) -> Span:
    """Words beside the message."""
    return Span(words, SMALL)


def flag(words: str) -> Span:
    """A small remark that is not to be missed."""
    return Span(words, FLAG)


def gap(words: str) -> Span:
    """What stands where a figure does not exist."""
    return Span(words, GAP)


def user(words: str) -> Span:
    """Words out of a file."""
    return Span(words, USER)


@frozen
class Cell:
    """One cell of a table: lines of text, its kind, and how many columns it takes."""

    lines: tuple[Text, ...] = ()
    kind: str = PLAIN
    columns: int = 1


@frozen
class Row:
    """Cells from left to right; the first heads the row where ``heads`` is set."""

    cells: tuple[Cell, ...]
    kind: str = PLAIN
    heads: bool = True


@frozen(kw_only=True)
class Table:
    """A table with a caption for readers who do not see it; ``kind`` picks its columns' widths."""

    caption: str
    head: tuple[str, ...]
    rows: tuple[Row, ...]
    kind: str


@frozen
class Heading:
    """Heading of a section, with a remark beside it."""

    words: str
    remark: str = ""


@frozen
class Paragraph:
    """Running text."""

    text: Text
    kind: str = PLAIN


@frozen(kw_only=True)
class Items:
    """A list: ``kind`` is ``plain``, ``numbered`` or ``check`` (each with a box to tick)."""

    items: tuple[Text, ...]
    kind: str = PLAIN


@frozen
class Boxes:
    """Labelled empty boxes in one line, to be filled in by hand."""

    labels: tuple[str, ...]


@frozen
class Shape:
    """One element of a drawing: SVG tag, attributes, text inside. Sizes in mm on paper."""

    tag: str
    attributes: Mapping[str, str | float]
    words: str = ""


@frozen(kw_only=True)
class Drawing:
    """A drawing to scale, mm on paper, y down; ``alt`` says in words what it shows."""

    width: float
    height: float
    shapes: tuple[Shape, ...]
    alt: str
    caption: Text = ()
    kind: str = PLAIN


@frozen
class Columns:
    """Blocks side by side, under each other where the page is narrow."""

    columns: tuple[tuple[Block, ...], ...]
    kind: str


@frozen
class Section:
    """Blocks that belong together."""

    blocks: tuple[Block, ...]
    kind: str = PLAIN


@frozen(kw_only=True)
class Page:
    """A whole document.

    Parameters
    ----------
    title : str
        Title of the document, plain text.
    kind : str
        What it is, in words (``"Transfer sheet"``).
    heading : Text
        First heading.
    facts : tuple of (str, Text)
        Who, which bike, when: label and value.
    date : str
        Day of printing.
    blocks : tuple of Block
        In reading order.
    landscape : bool
        Whether paper lies on its side.
    """

    title: str
    kind: str
    heading: Text
    facts: tuple[tuple[str, Text], ...]
    date: str
    blocks: tuple[Block, ...]
    landscape: bool = False
    lang: str = field(default="en-GB")


Block: TypeAlias = Heading | Paragraph | Items | Table | Drawing | Boxes | Columns | Section

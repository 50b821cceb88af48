"""Reading a page model in tests: tables, words and shapes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from fitprofile.report.page import (
    Block,
    Cell,
    Columns,
    Items,
    Paragraph,
    Row,
    Section,
    Shape,
    Table,
    Text,
)


def words(text: Text) -> str:
    """A text without its kinds."""
    return "".join(span.text for span in text)


def cell_words(cell: Cell) -> str:
    """Lines of a cell, one after the other."""
    return " / ".join(words(line) for line in cell.lines)


def row_words(row: Row) -> str:
    """Cells of a row, one after the other."""
    return " | ".join(cell_words(cell) for cell in row.cells)


def walk(blocks: tuple[Block, ...]) -> Iterator[Block]:
    """Every block, those inside columns and sections too."""
    for block in blocks:
        yield block
        if isinstance(block, Section):
            yield from walk(block.blocks)
        if isinstance(block, Columns):
            for column in block.columns:
                yield from walk(column)


def table(blocks: tuple[Block, ...], kind: str) -> Table:
    """The one table of a kind."""
    (found,) = (b for b in walk(blocks) if isinstance(b, Table) and b.kind == kind)
    return found


def row(found: Table, first: str) -> Row:
    """The row whose words begin so."""
    return next(one for one in found.rows if row_words(one).startswith(first))


def all_words(blocks: tuple[Block, ...]) -> str:
    """Every word of the blocks."""
    parts = []
    for block in walk(blocks):
        if isinstance(block, Table):
            parts += [row_words(one) for one in block.rows]
        if isinstance(block, Paragraph):
            parts.append(words(block.text))
        if isinstance(block, Items):
            parts += [words(item) for item in block.items]
    return "\n".join(parts)


def looks(shapes: Iterable[Shape], tag: str) -> list[dict[str, Any]]:
    """Attributes of every shape of one tag, in the order of drawing."""
    return [dict(shape.attributes) for shape in shapes if shape.tag == tag]

"""Both pages of one demo sheet side by side, as README shows them: reports/sheet.png."""

from __future__ import annotations

from pathlib import Path

import pypdfium2
from PIL import Image

SHEET = Path("reports/nela.juniper.road.pdf")
SCALE = 1.25
GAP = 12


def main() -> None:
    """Draw the pages next to each other in shades of few colours, to keep the file small."""
    pages = [page.render(scale=SCALE).to_pil() for page in pypdfium2.PdfDocument(SHEET)]
    width = sum(page.width for page in pages) + GAP * (len(pages) + 1)
    picture = Image.new("RGB", (width, pages[0].height + 2 * GAP), "#d8d8d4")
    left = GAP
    for page in pages:
        picture.paste(page, (left, GAP))
        left += page.width + GAP
    picture.quantize(32).save(SHEET.with_name("sheet.png"), optimize=True)


if __name__ == "__main__":
    main()

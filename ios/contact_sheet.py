"""Puts the schematic pictures of all screens, drawn by the tests as SVG, on one sheet for each size.

usage: contact_sheet.py FOLDER_OF_PICTURES FOLDER_OF_SHEETS
Needs Pillow, and rsvg-convert on the path.
"""

import io
import pathlib
import subprocess
import sys

from PIL import Image, ImageDraw

COLUMNS = 6
GAP = 12


def drawn(svg: pathlib.Path) -> Image.Image:
    """The picture, one pixel a point."""
    png = subprocess.run(["rsvg-convert", str(svg)], check=True, capture_output=True).stdout
    return Image.open(io.BytesIO(png)).convert("RGB")


def sheet(size: pathlib.Path) -> Image.Image:
    """All screens of one size."""
    pictures = [drawn(svg) for svg in sorted(size.glob("*.svg"))]
    wide, high = max(p.width for p in pictures), max(p.height for p in pictures)
    rows = -(-len(pictures) // COLUMNS)
    page = Image.new("RGB", (COLUMNS * (wide + GAP) + GAP, rows * (high + GAP) + GAP + 20), "#dddddd")
    ImageDraw.Draw(page).text((GAP, 4), f"schematic, no simulator and no phone: {size.name}", fill="black")
    for at, picture in enumerate(pictures):
        page.paste(picture, (GAP + at % COLUMNS * (wide + GAP), 20 + GAP + at // COLUMNS * (high + GAP)))
    return page


def main() -> None:
    """Writes a sheet for each folder of pictures."""
    pictures, sheets = pathlib.Path(sys.argv[1]), pathlib.Path(sys.argv[2])
    sheets.mkdir(parents=True, exist_ok=True)
    for size in sorted(p for p in pictures.iterdir() if p.is_dir()):
        sheet(size).quantize(64).save(sheets / f"{size.name}.png", optimize=True)


if __name__ == "__main__":
    main()

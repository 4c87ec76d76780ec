"""Puts the pictures of all screens on one sheet: a row for each screen, a column for each size and language."""

import sys
from pathlib import Path

from PIL import Image, ImageDraw

HEIGHT, GAP, HEAD = 640, 12, 28

folder, sheet = Path(sys.argv[1]), Path(sys.argv[2])
columns = sorted(path for path in folder.iterdir() if path.is_dir())
rows = sorted({picture.stem for column in columns for picture in column.glob("*.png")})
if not rows:
    sys.exit(f"no pictures in {folder}")


def scaled(path):
    picture = Image.open(path).convert("RGB")
    return picture.resize((picture.width * HEIGHT // picture.height, HEIGHT))


pictures = {(row, column.name): scaled(column / f"{row}.png") for row in rows for column in columns if (column / f"{row}.png").exists()}
width = max(picture.width for picture in pictures.values()) + GAP
out = Image.new("RGB", (width * len(columns) + GAP, (HEIGHT + HEAD + GAP) * len(rows) + GAP), (110, 130, 150))
write = ImageDraw.Draw(out)
for at, row in enumerate(rows):
    top = GAP + at * (HEIGHT + HEAD + GAP)
    for beside, column in enumerate(columns):
        left = GAP + beside * width
        write.text((left, top + 6), f"{row}, {column.name}", fill="white")
        if (row, column.name) in pictures:
            out.paste(pictures[row, column.name], (left, top + HEAD))
out.save(sheet)
print(f"{len(pictures)} pictures")

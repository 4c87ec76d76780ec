"""Parses SVG files with lxml and looks for what a screen reader needs. Usage: svg_accessible.py FILE..."""

import sys

from lxml import etree

SVG = "{http://www.w3.org/2000/svg}"
wrong = []
for name in sys.argv[1:]:
    root = etree.parse(name).getroot()
    title, description = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
    if root.tag != f"{SVG}svg" or root.get("role") != "img" or root.get("viewBox") is None:
        wrong.append(f"{name}: not an SVG image with role and viewBox")
    if title is None or not (title.text or "").strip() or description is None or len(description.text or "") < 20:
        wrong.append(f"{name}: no title and description")
    if root.find(f".//{SVG}script") is not None:
        wrong.append(f"{name}: holds a script")
print(f"{len(sys.argv) - 1} figures read")
if wrong or len(sys.argv) < 2:
    sys.exit("\n".join(wrong) or "no figures")

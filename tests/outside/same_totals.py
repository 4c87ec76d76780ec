"""Compares a recount with a report: decided stages and things left undecided. Usage: same_totals.py RECOUNT.json REPORT.json"""

import json
import sys

with open(sys.argv[1], encoding="utf-8") as file:
    recount = json.load(file)
with open(sys.argv[2], encoding="utf-8") as file:
    report = json.load(file)

compared = 0
wrong = []
for site in report["sites"]:
    counted = recount.get(site["site"], {})
    for season in site["seasons"]:
        for total in season["totals"]:
            stage = total["stage"]
            possible = sum(number for what, number in counted.items() if "+" in what and stage in what.split("+"))
            for name, ours, theirs in [
                ("decided", counted.get(stage, 0), total["total"]["value"]),
                ("undecided", possible, total["undecided"]),
            ]:
                compared += 1
                if ours != theirs:
                    wrong.append(f"{site['name']}: {stage} {name}: recounted {ours}, reported {theirs}")
print(f"{compared} numbers compared")
if wrong or compared < 24:
    sys.exit("\n".join(wrong) or "too few numbers to compare")

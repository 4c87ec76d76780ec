"""The journal format read a second time, from its description alone: hash chains, feeds, and a naive recount.

Usage: journal.py chains STATION.db       every entry's hash and every feed's hash computed again with hashlib
       journal.py recount STATION.db      living animals by site and by what they were counted as, as JSON

Nothing of the project's own code is used. The recount knows only the plain rules: a count stands unless an entry of
the same device, later and of the same scope, takes it back and is not itself taken back; a check enters if it was
closed whole; where two devices used one number in one visit, neither enters until somebody compared them: different
plants both enter, of one plant looked at twice the check with the smallest id.
"""

import hashlib
import json
import sqlite3
import sys
import uuid
from collections import defaultdict

NONE = bytes(32)


def entry_hash(device, epoch, seq, previous, data):
    head = b"leafturn entry 1\0" + device + epoch + seq.to_bytes(8, "big") + previous
    return hashlib.sha256(head + len(data).to_bytes(8, "big") + data).digest()


def feed_hash(site, number, previous, entry):
    return hashlib.sha256(b"leafturn feed 1\0" + site + number.to_bytes(8, "big") + previous + entry).digest()


def chains(database):
    entries = bad = 0
    ends = {}
    rows = database.execute("SELECT device, epoch, seq, previous, hash, bytes FROM entries ORDER BY device, epoch, seq")
    for device, epoch, seq, previous, stored, data in rows:
        entries += 1
        before = ends.get((device, epoch), (0, NONE))
        if entry_hash(device, epoch, seq, previous, data) != stored or before != (seq - 1, previous):
            bad += 1
        ends[device, epoch] = (seq, stored)
    items = 0
    feeds = {}
    for site, number, chained, entry in database.execute("SELECT site, number, feed_hash, hash FROM feed ORDER BY site, number"):
        items += 1
        before = feeds.get(site, (0, NONE))
        if before[0] != number - 1 or feed_hash(site, number, before[1], entry) != chained:
            bad += 1
        feeds[site] = (number, chained)
    print(f"{entries} entries of {len(ends)} streams, {items} items of {len(feeds)} feeds, {bad} wrong")
    return entries > 0 and items > 0 and bad == 0


def scope_key(entry):
    return json.dumps(entry["scope"], sort_keys=True)


def recount(database):
    entries = []
    for device, epoch, seq, data in database.execute("SELECT device, epoch, seq, bytes FROM entries"):
        entry = json.loads(data)
        entry["device"] = device
        entry["order"] = (entry["hybrid"], device, epoch, seq)
        entries.append(entry)
    entries.sort(key=lambda entry: entry["order"])
    by_id = {entry["id"]: entry for entry in entries}
    void = set()
    for entry in reversed(entries):  # the latest first: whether a take-back stands is known before its target is reached
        if entry["kind"] == "taken-back" and entry["id"] not in void:
            target = by_id.get(entry["payload"]["target"])
            if (
                target
                and target["device"] == entry["device"]
                and scope_key(target) == scope_key(entry)
                and target["order"] < entry["order"]
            ):
                void.add(target["id"])
    standing = [entry for entry in entries if entry["id"] not in void]

    group = {}

    def root(visit):
        while group.get(visit, visit) != visit:
            visit = group[visit]
        return visit

    for entry in standing:
        if entry["kind"] == "visits-joined":
            roots = sorted(root(visit) for visit in entry["payload"]["visits"])
            for other in roots[1:]:
                group[other] = roots[0]

    opened, extent, host = {}, {}, {}
    for entry in standing:
        payload = entry["payload"]
        if entry["kind"] == "plant-opened":
            opened.setdefault(payload["check"], entry)
            host[payload["check"]] = payload.get("host", host.get(payload["check"]))
        elif entry["kind"] == "plant-closed":
            extent[payload["check"]] = payload["extent"]
        elif entry["kind"] == "plant-described" and payload.get("host"):
            host[payload["check"]] = payload["host"]
    numbers = defaultdict(dict)
    for check, entry in opened.items():
        numbers[root(entry["scope"]["visit"]), entry["payload"]["number"]][check] = entry["device"]
    compared = [entry["payload"] for entry in standing if entry["kind"] == "checks-compared"]

    def stays_out(check):
        entry = opened[check]
        same = numbers[root(entry["scope"]["visit"]), entry["payload"]["number"]]
        if len(set(same.values())) < 2:
            return False
        verdicts = [said["verdict"] for said in compared if set(said["checks"]) >= set(same)]
        if not verdicts:
            return True
        return verdicts[-1] == "same-plant-independent" and check != min(same)

    living = {"alive", "about-to-hatch", "moulting", "being-eaten"}
    totals = defaultdict(lambda: defaultdict(int))
    for entry in standing:
        payload = entry["payload"]
        if entry["kind"] == "counted" and payload.get("state", "alive") in living:
            check = payload["check"]
            beginning = opened.get(check)
            if beginning is None or extent.get(check) != "whole" or host.get(check) == "not-milkweed":
                continue
            if stays_out(check):
                continue
            totals[entry["scope"]["site"]][payload["what"]] += payload.get("number", 1)
        elif entry["kind"] == "pooled-check":
            for what, number in payload["totals"].items():
                if number:
                    totals[entry["scope"]["site"]][what] += number
    print(json.dumps({str(uuid.UUID(site)): dict(sorted(by.items())) for site, by in sorted(totals.items())}, indent=1))
    return bool(totals)


def main():
    commands = {"chains": chains, "recount": recount}
    if len(sys.argv) != 3 or sys.argv[1] not in commands:
        sys.exit(__doc__)
    database = sqlite3.connect(f"file:{sys.argv[2]}?mode=ro", uri=True)
    sys.exit(0 if commands[sys.argv[1]](database) else 1)


main()

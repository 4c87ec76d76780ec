"""Sampling plans against scipy: sample sizes, stop lines by root finding, chances, a test by its likelihood, walks by
trying all orders, points and belts by independent geometry.

Needs numpy, scipy, geographiclib.
"""

import itertools
import math
import random

import numpy as np
from geographiclib.geodesic import Geodesic
from scipy.optimize import brentq
from scipy.stats import chisquare, nbinom, norm, poisson
from season_lines import Report, ask

EARTH = Geodesic.WGS84


def variance(model, mean):
    if "k" in model:
        return mean + mean**2 / model["k"]
    if "a" in model:
        return model["a"] * mean ** model["b"]
    if "alpha" in model:
        return (model["alpha"] + 1) * mean + (model["beta"] - 1) * mean**2
    return mean


def models(chance):
    yield "Poisson", {}
    yield "negative binomial", dict(k=math.exp(chance.uniform(-3, 5)))
    yield "Taylor", dict(a=chance.uniform(0.3, 5), b=chance.uniform(0.8, 1.95))
    yield "Iwao", dict(alpha=chance.uniform(-0.5, 2), beta=chance.uniform(1, 2.5))


def sizes(chance, report):
    questions, theirs, names = [], [], []
    for _ in range(200):
        for name, model in models(chance):
            mean, share, level = math.exp(chance.uniform(-4, 3)), chance.uniform(0.03, 1), chance.uniform(0.5, 0.999)
            questions.append(("how-many", dict(model, mean=mean, precision=share, level=level)))
            # The number at which the interval's half width is the share: found, not computed by the formula.
            half = lambda log_n: norm.ppf((1 + level) / 2) * math.sqrt(variance(model, mean) / math.exp(log_n)) / mean - share
            theirs.append(math.exp(brentq(half, -20, 40, xtol=1e-13)))
            names.append(f"how many, {name}, scipy brentq")
        p, share, level = chance.uniform(0.01, 0.99), chance.uniform(0.03, 1), chance.uniform(0.5, 0.999)
        z = norm.ppf((1 + level) / 2)
        questions.append(("how-many", dict(share=p, precision=share, level=level)))
        theirs.append(math.exp(brentq(lambda log_n: z * math.sqrt(p * (1 - p) / math.exp(log_n)) - share * p, -20, 40, xtol=1e-13)))
        names.append("how many, share, scipy brentq")
        within = chance.uniform(0.01, 0.3)
        questions.append(("how-many", dict(share=p, precision=1, level=level, within=within)))
        theirs.append(math.exp(brentq(lambda log_n: z * math.sqrt(p * (1 - p) / math.exp(log_n)) - within, -20, 40, xtol=1e-13)))
        names.append("how many, share within, scipy brentq")
        pilot = [int(x) for x in np.random.default_rng(chance.randrange(2**32)).negative_binomial(0.5, 0.3, size=chance.randint(5, 80))] + [0, 1]
        questions.append(("how-many", dict(pilot=pilot, precision=share)))
        theirs.append(np.var(pilot, ddof=1) / np.mean(pilot) ** 2 / share**2)
        names.append("how many, pilot, numpy")
    for name, ours, value in zip(names, ask(questions), theirs):
        report.add(name, ours.get("exact", ours), value, 1e-8, True)


def lines(chance, report):
    """The total at which standard error ÷ mean is the wanted one, by root finding."""
    questions, theirs, names = [], [], []
    for _ in range(300):
        n, error = chance.randint(2, 500), chance.uniform(0.05, 0.6)
        for name, model in (("Green", dict(a=chance.uniform(0.5, 4), b=chance.uniform(1.05, 1.8))),
                            ("Kuno", dict(alpha=chance.uniform(-0.5, 2), beta=chance.uniform(1.0, 2)))):
            questions.append(("stop-line", dict(model, units=n, error=error)))
            off = lambda log_t: math.log(variance(model, math.exp(log_t) / n) / n) / 2 - (log_t - math.log(n)) - math.log(error)
            try:
                theirs.append(math.exp(brentq(off, -60, 120, xtol=1e-13)))
            except ValueError:
                theirs.append(None)
            names.append(f"stop line, {name}, scipy brentq")
    for name, ours, value in zip(names, ask(questions), theirs):
        if value is None or ours is None:
            report.same(name + ", none", ours is None, value is None)
        else:
            report.add(name, ours, value, 1e-7, True)


def efforts(chance, report):
    questions, given = [], []
    for _ in range(250):
        for name, model in models(chance):
            mean, units, level = math.exp(chance.uniform(-3, 1)), chance.randint(1, 400), chance.uniform(0.5, 0.999)
            questions.append(("effort", dict(model, units=[units], mean=mean, level=level)))
            given.append((name, model, mean, units, level))
    for (name, model, mean, n, level), answer in zip(given, ask(questions)):
        told = answer[0]
        more = variance(model, mean) - mean
        if more > 1e-9:
            k = mean**2 / more
            found = nbinom(k * n, k / (k + mean))
        else:
            found = poisson(mean * n)
        report.add("effort, chance of none, scipy", told["none_found"], found.pmf(0), 1e-9)
        report.add("effort, chance of five, scipy", told["enough_for_a_mean"], found.sf(4), 1e-8)
        half = norm.ppf((1 + level) / 2) * math.sqrt(variance(model, mean) / n) / mean
        report.add("effort, half width, scipy", told["half_width"], half, 1e-9, True)
        bound = brentq(lambda p: n * math.log1p(-p) - math.log(1 - level), 0, 1 - 1e-15, xtol=1e-15)
        report.add("effort, bound if none, scipy brentq", told["occupied_at_most_if_none"], bound, 1e-9)


def tests(chance, report):
    questions, given = [], []
    for case in range(250):
        k, low = math.exp(chance.uniform(-2, 4)), math.exp(chance.uniform(-3, 1))
        high = low * chance.uniform(1.1, 5)
        chances = (chance.uniform(0.01, 0.3), chance.uniform(0.01, 0.3))
        n = chance.randint(1, 200)
        total = chance.randint(0, int(3 * n * high) + 1)
        simulate = case < 12
        questions.append(("sequential-test", dict(k=k, means=(low, high), chances=chances, units=n, total=total,
                                                  true_mean=math.sqrt(low * high) if simulate else None)))
        given.append((k, low, high, chances, n, total, simulate))
    for (k, low, high, (a, b), n, total, simulate), answer in zip(given, ask(questions)):
        # The likelihood ratio of any split of the total over the units is the same.
        split = np.full(n, total // n)
        split[: total % n] += 1
        law = lambda mean: nbinom(k, k / (k + mean)).logpmf(split).sum()
        ratio = law(high) - law(low)
        report.add("sequential test, likelihood ratio, scipy nbinom", answer["ratio"], ratio, 1e-7 * max(1, abs(ratio)))
        theirs = "high" if ratio >= math.log((1 - b) / a) else "low" if ratio <= math.log(b / (1 - a)) else "go-on"
        report.same("sequential test, decision, scipy nbinom", answer["decision"], theirs)
        if simulate:
            ours, runs = answer["operating"], 4000
            rng = np.random.default_rng(5)
            true = math.sqrt(low * high)
            counts = rng.negative_binomial(k, k / (k + true), size=(runs, 500)).cumsum(axis=1)
            per_animal = law_step(k, low, high)
            path = counts * per_animal - np.arange(1, 501) * k * math.log((k + high) / (k + low))
            up, down = path >= math.log((1 - b) / a), path <= math.log(b / (1 - a))
            first = np.argmax(up | down, axis=1)
            decided = (up | down).any(axis=1)
            share = np.mean(up[np.arange(runs), first] & decided)
            report.add("sequential test, share decided high, numpy simulation", ours["high"], share, 0.05)


def law_step(k, low, high):
    return math.log(high * (k + low) / (low * (k + high)))


def star(chance):
    """A star-shaped patch with a hole; each corner's distance is drawn."""
    lat, lon = chance.uniform(-65, 65), chance.uniform(-170, 170)
    corners = chance.randint(4, 11)
    reach = [chance.uniform(0.4, 1) * 200 for _ in range(corners)]

    def ring(scale):
        out = []
        for index, far in enumerate(reach):
            end = EARTH.Direct(lat, lon, 360 * index / corners, far * scale)
            out.append(dict(lat=end["lat2"], lon=end["lon2"]))
        return out

    return dict(outline=ring(1.0), holes=[ring(chance.uniform(0.1, 0.8))])


def crosses(ring, lat, lon):
    inside = False
    for one, other in zip(ring, ring[1:] + ring[:1]):
        if (one["lat"] > lat) != (other["lat"] > lat):
            at = one["lon"] + (lat - one["lat"]) / (other["lat"] - one["lat"]) * (other["lon"] - one["lon"])
            inside ^= lon < at
    return inside


def is_in(area, lat, lon):
    return crosses(area["outline"], lat, lon) and not any(crosses(hole, lat, lon) for hole in area["holes"])


def ring_area(ring):
    polygon = EARTH.Polygon()
    for corner in ring:
        polygon.AddPoint(corner["lat"], corner["lon"])
    return abs(polygon.Compute()[2])


def ground(chance, report):
    areas = [star(chance) for _ in range(200)]
    least_p = 1.0
    for area, points in zip(areas, ask([("points", dict(area=area, count=400, seed=i)) for i, area in enumerate(areas)])):
        report.same("points inside, even-odd rule", all(is_in(area, p["lat"], p["lon"]) for p in points), True)
        lats = [c["lat"] for c in area["outline"]]
        middle = (max(lats) + min(lats)) / 2
        south = sum(p["lat"] < middle for p in points)
        below = [clip(ring, middle) for ring in [area["outline"]] + area["holes"]]
        share = (ring_area(below[0]) - sum(map(ring_area, below[1:]))) / (
            ring_area(area["outline"]) - sum(map(ring_area, area["holes"])))
        least_p = min(least_p, chisquare([south, 400 - south], [400 * share, 400 * (1 - share)]).pvalue if 0 < share < 1 else 1)
    print(f"points: least p of 200 chi-squared tests of north against south: {least_p:.4f}")
    report.same("points, least p of 200 chi-squared tests above 1e-5", least_p > 1e-5, True)
    strips = [("belts", dict(area=area, lines=8, width_m=1.0, direction=chance.uniform(0, 360), seed=i)) for i, area in enumerate(areas)]
    for area, belts in zip(areas, ask(strips)):
        if isinstance(belts, dict):
            raise SystemExit(belts["error"])
        for belt in belts:
            length = EARTH.Inverse(belt["from"]["lat"], belt["from"]["lon"], belt["to"]["lat"], belt["to"]["lon"])["s12"]
            if length < 0.01:
                continue
            report.add("belts longer than 1 cm, m², geographiclib", belt["square_metres"], length * belt["width_m"], 3e-4, True)
            lat, lon = (belt["from"]["lat"] + belt["to"]["lat"]) / 2, (belt["from"]["lon"] + belt["to"]["lon"]) / 2
            report.same("belts inside, even-odd rule", is_in(area, lat, lon), True)


def clip(ring, north):
    """The part of a ring south of a parallel (Sutherland-Hodgman)."""
    out = []
    for one, other in zip(ring, ring[1:] + ring[:1]):
        inside, next_inside = one["lat"] <= north, other["lat"] <= north
        if inside:
            out.append(one)
        if inside != next_inside:
            share = (north - one["lat"]) / (other["lat"] - one["lat"])
            out.append(dict(lat=north, lon=one["lon"] + share * (other["lon"] - one["lon"])))
    return out


def walks(chance, report):
    questions, given = [], []
    for case in range(200):
        n = chance.randint(2, 7)
        lat, lon = chance.uniform(-60, 60), chance.uniform(-170, 170)
        points = [dict(lat=lat + chance.uniform(-1e-3, 1e-3), lon=lon + chance.uniform(-1e-3, 1e-3)) for _ in range(n)]
        start = 0 if case % 2 else None
        for exact in (True, False):
            questions.append(("walk", dict(points=points, start=start, exact=exact)))
        given.append((points, start))
    answers, ratios = ask(questions), []
    for (points, start), exact, short in zip(given, answers[::2], answers[1::2]):
        apart = [[EARTH.Inverse(p["lat"], p["lon"], q["lat"], q["lon"])["s12"] for q in points] for p in points]
        orders = (o for o in itertools.permutations(range(len(points))) if start is None or o[0] == start)
        best = min(sum(apart[a][b] for a, b in zip(o, o[1:])) for o in orders)
        report.add("walk, exact, m, all orders with geographiclib", exact["metres"], best, 1e-3)
        ratios.append(short["metres"] / best)
    print(f"short walk ÷ best of all orders: mean {np.mean(ratios):.6f}, greatest {max(ratios):.6f}, n {len(ratios)}")
    report.add("short walk, mean of the 200 ratios − 1", float(np.mean(ratios)) - 1, 0.0, 0.1)


def choices(chance, report):
    questions = [("choose", dict(stems=chance.randint(1, 3000), plants=chance.randint(1, 200), seed=i)) for i in range(300)]
    for (_, given), answer in zip(questions, ask(questions)):
        k = max(given["stems"] // given["plants"], 1)
        report.same("every k-th, k and picks", (answer["k"], answer["picks"]), (k, list(range(answer["start"] + 1, given["stems"] + 1, k))))
    starts = [a["start"] for a in ask([("choose", dict(stems=350, plants=50, seed=i)) for i in range(7000)])]
    p = chisquare(np.bincount(starts, minlength=7)).pvalue
    print(f"every k-th: chi-squared test of even starts, p {p:.4f}")
    report.same("every k-th, p of even starts above 1e-4", bool(p > 1e-4), True)


if __name__ == "__main__":
    report = Report()
    chance = random.Random(20260603)
    sizes(chance, report)
    lines(chance, report)
    efforts(chance, report)
    tests(chance, report)
    ground(chance, report)
    walks(chance, report)
    choices(chance, report)
    report.close()

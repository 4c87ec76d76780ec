"""The stage clock against scipy's regression, a plain walk through days, and scipy's integrals.

Needs numpy, scipy, vega_datasets.
"""

import datetime
import math
import random

import numpy as np
from scipy.integrate import quad
from scipy.stats import linregress, norm, t as student
from season_lines import Report, ask

WIDTHS = [45.0, 32.3, 27.8, 24.5, 35.7, 66.6, 120.0]
SPREAD = [4.32 / 44.5, 3.97 / 30.9, 3.71 / 27.2, 2.88 / 25.6, 4.09 / 33.8, 3.89 / 58.5, 0.0]
STAGES = ["egg", "larva1", "larva2", "larva3", "larva4", "larva5", "pupa"]
ENDS = np.cumsum(WIDTHS)
STARTS = ENDS - WIDTHS
END_SD = np.sqrt(np.cumsum([(w * s) ** 2 for w, s in zip(WIDTHS, SPREAD)]))
START_SD = np.concatenate([[0.0], END_SD[:-1]])
Z = norm.ppf(0.975)


def sine_day(low, high, lower=11.5, upper=33.0):
    middle, half = (low + high) / 2, (high - low) / 2
    if half == 0:
        return min(max(middle - lower, 0), upper - lower)
    kinks = sorted(
        {-math.pi / 2, math.pi / 2}
        | {math.asin((t - middle) / half) for t in (lower, upper) if abs(t - middle) < half}
    )
    rate = lambda x: min(max(middle + half * math.sin(x) - lower, 0.0), upper - lower)
    return sum(quad(rate, a, b, epsabs=1e-11)[0] for a, b in zip(kinks, kinks[1:])) / math.pi


def fits(chance, report):
    questions, rows = [], []
    for _ in range(300):
        lower, heat = chance.uniform(2, 14), chance.uniform(30, 400)
        at = [chance.uniform(16, 32) for _ in range(chance.randint(3, 12))]
        days = [heat / (t - lower) * math.exp(chance.gauss(0, 0.04)) for t in at]
        questions.append(("fit-rates", dict(rows=list(zip(at, days)))))
        rows.append((at, days))
    for (at, days), answer in zip(rows, ask(questions)):
        line = linregress(at, [1 / d for d in days])
        if line.slope <= 1e-12:
            assert "error" in answer
            continue
        n, r = len(at), np.mean([1 / d for d in days])
        residual = sum((1 / d - line.intercept - line.slope * t) ** 2 for t, d in zip(at, days)) / (n - 2)
        report.add("fit, threshold, scipy linregress", answer["lower_threshold"]["value"], -line.intercept / line.slope, 1e-7, True)
        report.add("fit, heat, scipy linregress", answer["heat_needed"]["value"], 1 / line.slope, 1e-7, True)
        report.add("fit, r squared, scipy linregress", answer["r_squared"], line.rvalue**2, 1e-8)
        report.add("fit, error of heat, scipy linregress", answer["heat_needed"]["standard_error"], line.stderr / line.slope**2, 1e-6, True)
        error = r / line.slope * math.sqrt(residual / (n * r * r) + (line.stderr / line.slope) ** 2)
        report.add("fit, error of threshold (Campbell 1974)", answer["lower_threshold"]["standard_error"], error, 1e-6, True)
        high = -line.intercept / line.slope + student.ppf(0.975, n - 2) * error
        report.add("fit, interval of threshold, scipy t", answer["lower_threshold"]["interval"]["high"], high, 1e-6, True)


def durations(chance, report):
    at = [chance.uniform(12, 45) for _ in range(200)]
    for t, answer in zip(at, ask([("durations", dict(at=t)) for t in at])):
        for stage, width in zip(answer, WIDTHS):
            report.add("durations", stage["days"]["value"], width / (min(t, 33.0) - 11.5), 1e-9, True)


def seasons(chance):
    from vega_datasets import data

    frame = data.seattle_weather()
    real = [(d.date(), lo, hi) for d, lo, hi in zip(frame.date, frame.temp_min, frame.temp_max)]
    for case in range(200):
        if case % 2 == 0:
            start = chance.randrange(0, len(real) - 160)
            yield real[start : start + 160]
        else:
            first = datetime.date(2024, 1, 1) + datetime.timedelta(chance.randrange(200))
            days = []
            for after in range(160):
                low = chance.uniform(5, 24)
                days.append((first + datetime.timedelta(after), low, low + chance.uniform(0, 16)))
            yield days


def dates(chance, report):
    questions, checks = [], []
    for days in seasons(chance):
        heat = [sine_day(lo, hi) for _, lo, hi in days]
        laid = chance.randrange(0, 40)
        rows = [[str(d), lo, hi] for d, lo, hi in days]
        sums = np.cumsum(heat[laid:])
        questions.append(("stage-dates", dict(laid=str(days[laid][0]), weather=rows)))
        checks.append(("dates", days, laid, sums))
        stage, on = chance.randrange(6), chance.randrange(70, 160)
        questions.append(("laying-dates", dict(seen=STAGES[stage], on=str(days[on][0]), weather=rows)))
        checks.append(("laying", days, (stage, on), heat))
    for (kind, days, what, numbers), answer in zip(checks, ask(questions)):
        if kind == "dates":
            for index, end in enumerate(answer):
                for name, shift in (("typical", 0.0), ("early", -Z), ("late", Z)):
                    needs = ENDS[index] + shift * END_SD[index]
                    if np.min(np.abs(numbers - needs)) < 1e-6:
                        continue
                    place = int(np.searchsorted(numbers, needs))
                    theirs = str(days[what + place][0]) if place < len(numbers) else None
                    ours = end[name][0] if end[name] else None
                    report.same(f"stage dates, {name}, plain walk", ours, theirs)
                    if ours:
                        report.add("stage dates, degree-days, scipy quad", end[name][1], numbers[place], 1e-6)
        else:
            stage, on = what
            before = np.concatenate([[0.0], np.cumsum(numbers[:on][::-1])])
            for name, start, end in (
                ("typical", STARTS[stage], ENDS[stage]),
                ("with_spread", STARTS[stage] - Z * START_SD[stage], ENDS[stage] + Z * END_SD[stage]),
            ):
                good = [j for j, b in enumerate(before) if b < end and b + numbers[on] >= start]
                theirs = {"from": str(days[on - good[-1]][0]), "to": str(days[on - good[0]][0])} if good else None
                report.same(f"laying dates, {name}, plain walk", answer[name], theirs)


def again(chance, report):
    """By quadrature over the moment of laying."""
    questions, checks = [], []
    for _ in range(200):
        first = datetime.date(2024, 5, 1)
        days = []
        for after in range(14):
            low = chance.uniform(8, 24)
            days.append((first + datetime.timedelta(after), low, low + chance.uniform(0, 14)))
        evenly, until = chance.random() < 0.5, chance.choice([0, 1, 5])
        rows = [[str(d), lo, hi] for d, lo, hi in days]
        questions.append(("next-visit", dict(visit=str(first), evenly=evenly, until=STAGES[until], weather=rows)))
        checks.append((evenly, until, [sine_day(lo, hi) for _, lo, hi in days]))
    for (evenly, until, heat), answer in zip(checks, ask(questions)):
        sums = np.concatenate([[0.0], np.cumsum(heat)])
        at = lambda moment: float(np.interp(moment, np.arange(len(sums)), sums))
        for visit in answer:
            seen = visit["days"] + 0.5
            start, end = (0.5, seen) if evenly else (1.0, 2.0)
            young = lambda moment: norm.cdf((ENDS[until] - (at(seen) - at(moment))) / END_SD[until])
            points = [p for p in range(1, 12) if start < p < end]
            theirs = quad(young, start, end, points=points or None, limit=200)[0] / (end - start)
            report.add("next visit, scipy quad", visit["chance"]["value"], theirs, 1e-3)


if __name__ == "__main__":
    report = Report()
    chance = random.Random(20260602)
    fits(chance, report)
    durations(chance, report)
    dates(chance, report)
    again(chance, report)
    report.close()

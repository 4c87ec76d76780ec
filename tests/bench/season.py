"""Season methods against libraries that others wrote, timed on the same data in the same run; only printed.

Usage: season.py PROGRAM. PROGRAM is `season_ratios`. Where the other side would take hours it does a stated part of the
work, and its time is scaled by the share; everything compared is compared in value too.
"""

import json
import subprocess
import sys
import time
import warnings

import numpy as np
import scipy.optimize
import scipy.special
import statsmodels.api as sm

SITES, RESAMPLES, STATIONS = 1000, 1000, 1000
PART_SITES, PART_RESAMPLES = 2, 25


def counts_of_sites(rng):
    k, mean = 0.8, 0.9
    draw = rng.negative_binomial(k, k / (k + mean), size=(SITES, 60))
    return [[int(count) for count in site] for site in draw]


def year_of(rng):
    day = np.arange(365)
    low = 9 - 12 * np.cos(2 * np.pi * (day - 15) / 365) + rng.normal(0, 3, size=(STATIONS, 365))
    return low, low + 6 + rng.gamma(4, 1.5, size=(STATIONS, 365))


def double_sine(low, high, bottom, top):
    """Every station and day at once: half a day from low to high, half from high to the next low."""

    def above(low, high, threshold):
        middle, reach = (low + high) / 2, (high - low) / 2
        ratio = np.clip((threshold - middle) / np.where(reach > 0, reach, 1), -1, 1)
        angle = np.arcsin(ratio)
        part = ((middle - threshold) * (np.pi / 2 - angle) + reach * np.cos(angle)) / np.pi
        return np.where(threshold <= low, middle - threshold, np.where(threshold >= high, 0, part))

    following = np.concatenate([low[:, 1:], low[:, -1:]], axis=1)
    total = 0
    for side in (low, following):
        one, other = np.minimum(side, high), np.maximum(side, high)
        total = total + (above(one, other, bottom) - above(one, other, top)) / 2
    return total.sum(axis=1)


def fit_k(counts):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        fit = sm.NegativeBinomial(counts, np.ones(len(counts))).fit(disp=0, maxiter=200)
    return 1 / fit.params[-1]


IOWA = [
    21.9, 21.9, 20.8, 17.5, 18.1, 19.7, 22.2, 24.7, 17.2, 16.4, 18.9, 20.3, 23.3, 26.9, 28.3, 26.4, 24.4, 23.65, 26.7,
    26.7, 24.15, 23.6, 20.8, 20.55, 21.95, 23.6, 26.1, 24.4, 24.75, 22.5, 21.95, 21.95, 22.75, 23.6, 25.25, 23.6, 20.85,
    21.7, 21.4, 23.85, 24.45, 24.15, 22.5, 21.7, 22.2, 21.7, 24.4, 23.6, 23.6, 24.15, 19.75, 15.8, 17.2, 20.25, 20.85,
    17.5, 15.25, 15.85, 16.65, 18.05, 18.9, 18.35, 18.85, 22.8,
]
# Iowa 2015: Grant TJ et al. (2020) Ecosphere 11:e03082, counts and temperatures of the authors' repository.
SERIES = {
    "times": [1, 10, 20, 27, 36, 41, 48],
    "rows": [
        [3, 0, 0, 1, 0, 0], [96, 12, 13, 4, 1, 4], [138, 8, 8, 3, 0, 2], [137, 9, 10, 8, 3, 3], [65, 3, 5, 1, 2, 2],
        [47, 0, 1, 0, 1, 1], [27, 1, 0, 0, 1, 0],
    ],
    "days": [day - 15.5 for day in range(65)],
    "sums": [0.0] + list(np.cumsum(np.array(IOWA) - 11.5)),
    "widths": [45.0, 32.3, 27.8, 24.5, 35.7, 66.6],
}


def clock_by_scipy(series, method):
    """The same likelihood, its cohorts laid out once, from the same four starts; `method` names scipy's optimiser."""
    times, rows = np.array(series["times"], float), np.array(series["rows"], float)
    days, sums = np.array(series["days"]), np.array(series["sums"])
    ends = np.cumsum(series["widths"])
    laid = np.arange(days[0] + 0.125, times[-1], 0.25)
    start = np.interp(laid, days, sums)
    stage = np.full((len(times), len(laid)), -1)
    spent = np.zeros((len(times), len(laid), 6))
    for visit, moment in enumerate(times):
        age = np.interp(moment, days, sums) - start
        alive = (laid <= moment) & (age < ends[-1])
        stage[visit, alive] = np.searchsorted(ends, age[alive], side="right")
        edges = np.stack([laid] + [np.interp(start + end, sums, days) for end in ends], axis=1)
        edges = np.clip(edges, laid[:, None], np.maximum(moment, laid)[:, None])
        spent[visit] = np.diff(edges, axis=1)

    def loss(point):
        eggs, mean, spread = np.exp(point[0]), point[1], np.exp(point[2])
        hazards = np.exp(np.array([point[3]] + [point[4]] * 5))
        out = sum(max(0, np.log(1e-6) - h) + max(0, h - np.log(4.0)) for h in point[3:5])
        out += max(0, -1 - point[2]) + max(0, point[2] - 4) + max(0, abs(point[0]) - 30)
        if out > 0:
            return 1e9 * (1 + out)
        bell = eggs * 0.25 / (spread * np.sqrt(2 * np.pi)) * np.exp(-0.5 * ((laid - mean) / spread) ** 2)
        left = bell * np.exp(-(spent @ hazards))
        expected = np.array([[left[v][stage[v] == s].sum() for s in range(6)] for v in range(len(times))])
        expected = np.maximum(expected, 1e-9)
        return -(rows * np.log(expected) - expected - scipy.special.gammaln(rows + 1)).sum()

    totals = rows.sum(axis=1)
    centre = (times * totals).sum() / totals.sum()
    rate = (np.interp(times[-1], days, sums) - np.interp(times[0], days, sums)) / (times[-1] - times[0])
    best = None
    for spread, hazard in ((4.0, 0.1), (12.0, 0.1), (8.0, 0.5), (8.0, 0.02)):
        first = [np.log(totals.max() * 3), centre - 45.0 / rate, np.log(spread), np.log(hazard), np.log(hazard)]
        options = {"maxiter": 4000, "xatol": 1e-7, "fatol": 1e-9} if method == "Nelder-Mead" else {"maxiter": 4000}
        found = scipy.optimize.minimize(loss, first, method=method, options=options)
        best = found if best is None or found.fun < best.fun else best
    return -best.fun, best.x[1]


def timed(work):
    begun = time.perf_counter()
    done = work()
    return done, time.perf_counter() - begun


def main():
    rng = np.random.default_rng(20260701)
    sites = counts_of_sites(rng)
    low, high = year_of(rng)
    stations = np.stack([low, high], axis=2).round(2)
    low, high = stations[:, :, 0], stations[:, :, 1]
    resampled = [[int(count) for count in rng.choice(site, size=len(site))]
                 for site in sites[:PART_SITES] for _ in range(PART_RESAMPLES)]
    asked = {"sites": sites, "resamples": RESAMPLES, "resampled": resampled, "stations": stations.tolist(),
             "series": SERIES}
    run = subprocess.run([sys.argv[1]], input=json.dumps(asked), capture_output=True, text=True, check=True)
    ours = json.loads(run.stdout)

    clumping = ours["clumping"]
    fits, took = timed(lambda: [fit_k(np.array(counts)) for counts in sites[:PART_SITES] + resampled])
    whole = took * (SITES * (RESAMPLES + 1)) / len(fits)
    found = [answer["k"] for answer in clumping["answers"][:PART_SITES]] + clumping["resampled"]
    # Where chance alone explains a sample there is no finite k; statsmodels goes on to some large number there.
    both = [(theirs, own) for theirs, own in zip(fits, found) if own is not None]
    apart = max(abs(theirs - own) / own for theirs, own in both)
    assert len(both) > len(fits) / 2 and all(theirs > 20 for theirs, own in zip(fits, found) if own is None)
    own = clumping["seconds"]
    print(f"k by likelihood, {SITES} sites x {RESAMPLES} resamples: ours {own:.2f} s, statsmodels {whole:.0f} s (scaled "
          f"from {len(fits)} fits): {whole / own:.0f} times (wanted 30); largest relative difference of k over the site and "
          f"its resamples {apart:.1e}; profile intervals of {SITES} sites take {clumping['profile_seconds']:.3f} s more")

    heat, took = timed(lambda: double_sine(low, high, 11.5, 33.0))
    own = ours["degree_days"]["seconds"]
    apart = np.abs(heat - np.array(ours["degree_days"]["answers"])).max()
    print(f"a year of double sine, {STATIONS} stations: ours {own * 1e3:.0f} ms, numpy {took * 1e3:.0f} ms: "
          f"{took / own:.1f} times; largest difference {apart:.1e} degree-days")

    # The faster of two that reach the same likelihood is the floor.
    tried = [timed(lambda: clock_by_scipy(SERIES, method)) for method in ("Nelder-Mead", "BFGS")]
    best = max(found[0] for found, _ in tried)
    (likelihood, mean_day), took = min((one for one in tried if one[0][0] > best - 1e-4), key=lambda one: one[1])
    own = ours["stage_clock"]["seconds"]
    apart = abs(likelihood - ours["stage_clock"]["log_likelihood"])
    print(f"stage clock on series A: ours {own * 1e3:.2f} ms, scipy by its faster optimiser {took * 1e3:.0f} ms: "
          f"{took / own:.0f} times (wanted 20); log-likelihoods differ by {apart:.1e}, mean days by "
          f"{abs(mean_day - ours['stage_clock']['mean_day']):.1e}; ours with all profile intervals "
          f"{ours['stage_clock']['with_profiles_seconds'] * 1e3:.0f} ms")

    for row in ours["by_size"]:
        print(f"by size: k of {row['plants']} plants {row['k_seconds'] * 1e3:.2f} ms; k by bootstrap of {row['sites']} sites "
              f"{row['sites_seconds'] * 1e3:.2f} ms; heat of {row['stations']} stations "
              f"{row['heat_seconds'] * 1e3:.2f} ms")


main()

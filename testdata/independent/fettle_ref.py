#!/usr/bin/env python3
"""A second, independent reading of the language, used to make values that the compiler is held to; slow and plain on purpose.

Written from the language's description alone, sharing nothing with the compiler: exact fractions instead of floating
point, one cell at a time, no plan, no sharing of work. Values are therefore right to the last printed digit, except
that roots, exp, log and broken powers go through a float.

    python3 fettle_ref.py WORKSPACE OUTDIR [--stdlib DIR] [--only PATTERN]

For each tune it writes OUTDIR/TUNE/MAP.csv (shaped as the compiler's tables are, but unrounded: each value as the
shortest text that reads back as the same float) and one OUTDIR/summary.json: conditions, rules applied and not,
verdicts of limits and checks; for each matrix the excluded members; for each grid the filled cells (row, column,
from 0). A tune whose limits fail is written all the same.
`target` is skipped, and a `review` is checked only: it changes no value.

Exit status: 0 all holds; 1 a limit, a check or a tune fails; 2 the source is wrong (the first error is told).

The modules, in the order in which a source goes through them: units, lexer, expressions, parser, grids, workspace, literals,
checker, evaluate, program, variants, verdicts.

Beside it: expect.py writes what the compiler's tests compare (cases/*/expected.json, examples/*.json), judged.py judges
snippets/snippets.txt, generate.py makes random workspaces and mutate.py small faults in them, for comparing more:

    python3 generate.py FOLDER 1 100; python3 expect.py FOLDER/*
    go test ./compiler -run Independent -independent FOLDER
"""

import argparse
import csv
import json
import os
import sys

sys.dont_write_bytecode = True      # leaves nothing beside the sources

from evaluate import TuneFailure, as_float
from program import Program
from units import FettleError
from variants import Variants
from verdicts import check_expectations, judge_check, judge_limit, pattern_matches, safely


def shown(value, unit):
    return repr(as_float(unit.from_base(value)))


def point(value, unit):
    number = as_float(unit.from_base(value))
    return str(int(number)) if number == int(number) and abs(number) < 1e15 else repr(number)


def write_table(path, program, d, grid):
    units = [program.axes[axis].unit for axis in grid.axes]
    corner = " \\ ".join(axis + unit.bracket() for axis, unit in zip(grid.axes, units))
    with open(path, "w", newline="", encoding="utf-8") as file:
        out = csv.writer(file)
        out.writerow([corner] + [point(x, units[-1]) for x in grid.breakpoints[-1]])
        labels = [point(x, units[0]) for x in grid.breakpoints[0]] if len(units) == 2 else [""]
        for label, row in zip(labels, grid.rows):
            out.writerow([label] + [shown(value, d.unit) for value in row])


def condition_shown(given, value):
    if given.type != "number":
        return value
    return {"value": as_float(given.unit.from_base(value)), "unit": given.unit.text}


def run_tune(program, tune, folder):
    """Writes one tune's tables; returns its part of the summary."""
    summary = {"conditions": {name: condition_shown(program.givens[name], value) for name, value in tune.conditions.items()}}
    try:
        summary["rules_applied"] = [r.name for r in program.rules if tune.holds(r)]
        summary["rules_not_applied"] = [r.name for r in program.rules if not tune.holds(r)]
    except TuneFailure as failure:
        summary["error"] = str(failure)
        return summary
    for name, d in program.maps.items():
        try:
            grid = tune.final(name)
        except TuneFailure as failure:
            summary.setdefault("error", str(failure))
            continue
        os.makedirs(folder, exist_ok=True)
        write_table(os.path.join(folder, name + ".csv"), program, d, grid)
    summary["limits"] = {limit.name: safely(judge_limit, tune, limit) for limit in program.limits}
    summary["checks"] = {d.name: safely(judge_check, tune, d) for d in program.workspace.of_kind("check")
                         if pattern_matches(d.pattern, tune.name)}
    return summary


def failed(summary):
    verdicts = list(summary.get("limits", {}).values()) + list(summary.get("checks", {}).values())
    return "error" in summary or any(v["verdict"] == "fail" for v in verdicts)


def load(workspace, stdlib):
    """The whole source, checked: a program and its tunes."""
    program = Program(workspace, stdlib)
    variants = Variants(program)
    program.check_circles()         # after the variants: their trims read maps too
    check_expectations(program)
    for d in program.workspace.of_kind("check"):
        if not any(pattern_matches(d.pattern, name) for name in variants.tunes):
            raise FettleError(f"no variant matches {d.pattern!r}", d.where)
    return program, variants


def main(arguments=None):
    sys.setrecursionlimit(10000)
    here = os.path.dirname(os.path.abspath(__file__))
    options = argparse.ArgumentParser(description="A second, independent reading of the fettle language.")
    options.add_argument("workspace")
    options.add_argument("outdir")
    options.add_argument("--stdlib", default=os.path.join(here, "..", "..", "stdlib"))
    options.add_argument("--only", metavar="PATTERN", help="only the tunes that match, such as 'season/stock-*'")
    chosen = options.parse_args(arguments)
    try:
        program, variants = load(chosen.workspace, chosen.stdlib)
    except FettleError as error:
        print(f"error: {error}", file=sys.stderr)
        return 2
    except RecursionError:
        print("error: an expression is nested too deeply", file=sys.stderr)
        return 2
    os.makedirs(chosen.outdir, exist_ok=True)
    summary = {"tunes": {}, "matrices": {name: {"excluded": left_out} for name, left_out in variants.excluded.items()},
               "filled": {name: sorted(d.shape.filled) for name, d in program.maps.items()
                          if d.source != "like" and d.shape.filled},
               "cautions": [d.name for d in program.workspace.of_kind("caution")]}
    for name, tune in variants.tunes.items():
        if chosen.only and not pattern_matches(chosen.only, name):
            continue
        summary["tunes"][name] = run_tune(program, tune, os.path.join(chosen.outdir, *name.split("/")))
    with open(os.path.join(chosen.outdir, "summary.json"), "w", encoding="utf-8") as file:
        json.dump(summary, file, indent=2)
        file.write("\n")
    return 1 if any(failed(s) for s in summary["tunes"].values()) else 0


if __name__ == "__main__":
    sys.exit(main())

#!/usr/bin/env python3
"""Writes what the second reading says of workspaces, as the compiler's test reads it.

    python3 expect.py [--only PATTERN]... [--to FILE] WORKSPACE...

Each WORKSPACE gets an expected.json (or FILE, for one workspace). A workspace that is refused gets only the reason. A
map that is the same as in an earlier tune is written as that tune's name.
"""

import argparse
import json
import os
import sys

sys.dont_write_bytecode = True

from evaluate import TuneFailure
from fettle_ref import as_float, condition_shown, load
from units import FettleError
from verdicts import judge_check, judge_limit, pattern_matches, safely

HERE = os.path.dirname(os.path.abspath(__file__))
STDLIB = os.path.join(HERE, "..", "..", "stdlib")


def number(value, unit):
    return as_float(unit.from_base(value))


def breakpoints(program, shape):
    return [[number(x, program.axes[axis].unit) for x in points] for axis, points in zip(shape.axes, shape.breakpoints)]


def verdict(v):
    """What the compiler's verdict is held to."""
    if "error" in v:
        return {"verdict": v["verdict"], "error": v["error"]}
    return {key: v[key] for key in ("verdict", "cells", "failing", "clamped") if key in v}


def tune_expected(program, tune, seen):
    out = {"name": tune.name,
           "conditions": {name: condition_shown(program.givens[name], value) for name, value in tune.conditions.items()}}
    maps = {}
    try:
        out["rules"] = [r.name for r in program.rules if tune.holds(r)]
        for name, d in program.maps.items():
            maps[name] = [[number(value, d.unit) for value in row] for row in tune.final(name).rows]
    except TuneFailure as failure:
        out["error"] = str(failure)
        return out
    out["maps"] = {}
    for name, rows in maps.items():
        key = (name, json.dumps(rows))
        out["maps"][name] = seen.setdefault(key, tune.name)
        if out["maps"][name] is tune.name:
            out["maps"][name] = rows
    out["limits"] = {limit.name: verdict(safely(judge_limit, tune, limit)) for limit in program.limits}
    out["checks"] = {d.name: verdict(safely(judge_check, tune, d))["verdict"] for d in program.workspace.of_kind("check")
                     if pattern_matches(d.pattern, tune.name)}
    return out


def expected(folder, only=()):
    try:
        program, variants = load(folder, STDLIB)
    except FettleError as error:
        return {"refused": str(error)}
    seen = {}
    tunes = [tune for name, tune in variants.tunes.items() if not only or any(pattern_matches(p, name) for p in only)]
    return {
        "axes": {name: breakpoints(program, d.shape) for name, d in program.maps.items()},
        "filled": {name: sorted(d.shape.filled) for name, d in program.maps.items() if d.source != "like" and d.shape.filled},
        "excluded": sorted(name for left_out in variants.excluded.values() for name in left_out),
        "every_tune": list(variants.tunes),
        "tunes": [tune_expected(program, tune, seen) for tune in tunes],
    }


def dump(value):
    """JSON with one line for each map, limit and the like: short, and a change shows where it is."""
    def write(v, depth):
        if isinstance(v, dict) and v and depth > 0:
            pad = " " * (5 - depth)
            return "{\n" + ",\n".join(f"{pad}{json.dumps(k)}: {write(x, depth - 1)}" for k, x in v.items()) + "}"
        if isinstance(v, list) and v and depth > 0 and isinstance(v[0], dict):
            return "[\n" + ",\n".join(write(x, depth - 1) for x in v) + "]"
        return json.dumps(v, separators=(",", ":"))
    return write(value, 4) + "\n"


def main():
    sys.setrecursionlimit(10000)
    options = argparse.ArgumentParser()
    options.add_argument("workspaces", nargs="+")
    options.add_argument("--only", action="append", default=[])
    options.add_argument("--to")
    chosen = options.parse_args()
    for folder in chosen.workspaces:
        with open(chosen.to or os.path.join(folder, "expected.json"), "w", encoding="utf-8") as file:
            file.write(dump(expected(folder, chosen.only)))


if __name__ == "__main__":
    main()

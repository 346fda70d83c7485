#!/usr/bin/env python3
"""The second reading's own test: small workspaces whose cells are worked out here by hand, in plain floats.

    python3 selftest.py
"""

import csv
import json
import math
import os
import sys
import tempfile

sys.dont_write_bytecode = True

import fettle_ref
from selftest_sources import ACCEPTED, EXAMPLE, PIPES, REFUSED, SMALL

HERE = os.path.dirname(os.path.abspath(__file__))
STDLIB = os.path.join(HERE, "selftest_stdlib")
failures = []
counted = 0


def expect(what, actual, wanted):
    global counted
    counted += 1
    same = actual == wanted
    if isinstance(wanted, float) and isinstance(actual, (int, float)):
        same = math.isclose(actual, wanted, rel_tol=1e-12, abs_tol=1e-12)
    if not same:
        failures.append(f"{what}: got {actual!r}, worked out {wanted!r}")


class Run:
    """A workspace from texts, run through the tool as a user would."""

    def __init__(self, files):
        self.folder = tempfile.TemporaryDirectory()
        work, self.out = os.path.join(self.folder.name, "work"), os.path.join(self.folder.name, "out")
        os.makedirs(work)
        for name, text in files.items():
            with open(os.path.join(work, name), "w", encoding="utf-8") as file:
                file.write(text)
        self.status = fettle_ref.main([work, self.out, "--stdlib", STDLIB])
        self.summary = {}
        if self.status != 2:
            with open(os.path.join(self.out, "summary.json"), encoding="utf-8") as file:
                self.summary = json.load(file)

    def rows(self, tune, name):
        """Rows of cells without their labels."""
        with open(os.path.join(self.out, tune, name + ".csv"), newline="", encoding="utf-8") as file:
            return [[float(cell) for cell in row[1:]] for row in list(csv.reader(file))[1:]]

    def expect_rows(self, tune, name, wanted):
        got = self.rows(tune, name)
        expect(f"{tune} {name}: shape", [len(r) for r in got], [len(r) for r in wanted])
        for i, (a, b) in enumerate(zip(got, wanted)):
            for j, (x, y) in enumerate(zip(a, b)):
                expect(f"{tune} {name} [{i}][{j}]", x, float(y))


def pressure(height):
    return 101325 * (1 - height * 0.0065 / 288.15) ** 5.25588


def density(p, celsius, humidity):
    vapour = humidity * 611.2 * math.exp(17.62 * celsius / (243.12 + celsius))
    kelvin = celsius + 273.15
    return (p - vapour) / (287.05 * kelvin) + vapour / (461.5 * kelvin)


def example():
    run = Run({"tune.fettle": EXAMPLE, "pipes.fettle": PIPES})
    expect("example: status", run.status, 0)
    run.expect_rows("bench", "fuel", [[1.1, 1.2, 1.3, 1.2, 1.0, 0.9], [3.0, 3.4, 4.1, 4.9, 4.6, 3.8],
                                      [8.2, 9.0, 11.6, 15.1, 16.2, 12.7]])
    run.expect_rows("bench", "spark", [[18, 20, 20, 18, 15, 11], [20, 22, 20, 17, 14, 14]])
    # 16.2 mg through 420 g/min: 16.2e-6 kg / (0.42/60 kg/s) = 2.3142857 ms, and 0.55 ms; at 11000 a minute.
    opening = 16.2 / 7 + 0.55
    expect("bench open_time", run.rows("bench", "open_time")[2][4], opening)
    expect("bench duty", run.rows("bench", "duty")[2][4], opening / 1000 * 11000 / 60 * 100)
    # 3 pipes x 3 fuels x 3 altitudes, less short with local91 at 3 altitudes.
    expect("members", len([n for n in run.summary["tunes"] if n.startswith("season/")]), 24)
    expect("excluded", run.summary["matrices"]["season"]["excluded"],
           [f"season/short-local91-{h}m" for h in (40, 820, 1640)])

    # season/long-race102-820m, fuel at 100 %, 9000 rpm.
    thin = density(pressure(820), 22, 0.4) / density(pressure(40), 22, 0.4)
    fuels = 14.6 / 14.1
    row = [cell * thin * fuels for cell in (8.2, 9.0, 11.6, 15.1, 16.2, 12.7)]
    # The long pipe: looked up at 9000 * 9400 / 8600 = 9837 rpm, between 9000 and 11000, of the whole map as it was.
    moved = 9000 * 9400 / 8600
    looked_up = row[3] + (moved - 9000) / 2000 * (row[4] - row[3])
    # midrange: 500 beyond 8500 is at the feather's end, so its weight at 9000 is 0.
    expect("long pipe fuel", run.rows("season/long-race102-820m", "fuel")[2][3], looked_up)
    # At 7000 (7651 rpm) midrange weighs 1 at 100 % throttle; at 25 % it weighs 0 (25 below 50, feather 10).
    moved = 7000 * 9400 / 8600
    looked_up = row[2] + (moved - 7000) / 2000 * (row[3] - row[2])
    expect("long pipe midrange", run.rows("season/long-race102-820m", "fuel")[2][2], looked_up * 1.03)
    low = [4.1 * thin * fuels, 4.9 * thin * fuels]
    expect("long pipe, no midrange", run.rows("season/long-race102-820m", "fuel")[1][2], low[0] + (moved - 7000) / 2000 * (low[1] - low[0]))
    # At 13000 the look-up is past the last breakpoint: the edge holds.
    expect("long pipe edge", run.rows("season/long-race102-820m", "fuel")[2][5], row[5])
    run.expect_rows("season/long-race102-820m", "spark", [[19, 21, 21, 18, 15, 11], [21, 23, 21, 17, 14, 14]])
    # low_octane: 9000 inside, 11000 at the feather's end, 7000 a whole 1000 below 8000: 0; only 100 % throttle.
    run.expect_rows("season/stock-local91-40m", "spark", [[18, 20, 20, 18, 15, 11], [20, 22, 20, 15, 14, 14]])

    june = run.rows("highmeadow_june", "fuel")[2]
    thin = density(pressure(820), 31, 0.4) / density(pressure(40), 22, 0.4)
    expect("june below the trim", june[2], 11.6 * thin)
    expect("june trimmed", june[3], 15.1 * thin * 1.02)
    expect("bench rules", run.summary["tunes"]["bench"]["rules_applied"], ["thin_air", "fuel_chemistry"])
    checks = run.summary["tunes"]["bench"]["checks"]
    expect("bench check", checks["the bench tune is the proven base"]["verdict"], "pass")
    cliffs = run.summary["tunes"]["bench"]["limits"]["no_cliffs"]
    # Greatest step to fuel ratio of the base: 4.1 to 11.6 is along throttle; along rpm 9.0 to 11.6, 11.6 to 15.1.
    ratio = max(0.1 / 1.1, 0.4 / 3.0, 0.7 / 3.4, 0.8 / 4.1, 0.8 / 8.2, 2.6 / 9.0, 3.5 / 11.6, 3.5 / 16.2, 0.2 / 1.2, 0.8 / 4.6)
    expect("no_cliffs", cliffs["verdict"], "pass")
    expect("no_cliffs margin", cliffs["worst_margin"], 60 - ratio * 100)


def small():
    run = Run({"tune.fettle": SMALL, "base.csv": "throttle [%] \\ rpm [rev/s],50,100,150\r\n0,1,,3\r\n100,5,,\r\n",
               "rows.csv": "name,bore [in],wet [yes/no],note [text]\r\none,2,yes,\"a, b\"\r\ntwo,3,no,\r\n"})
    expect("small: status", run.status, 1)
    tunes = run.summary["tunes"]
    # Blanks: row 0: between 10 and 30, 40 are 1000 and 3000 rpm apart from 2000: 20; row 50: nothing given, so
    # columns: between 10 and 50 in the first; the second has only a filled 20 above and 70 below, which is given
    # at 100 alone: nearest of the column 70; third 30 above only: 30. Row 100: 50 and 70 given; 4000: nearest 70.
    run.expect_rows("plain", "blanks", [[10, 20, 30], [30, 70, 30], [50, 70, 70]])
    # CSV in rev/s: breakpoints 3000, 6000, 9000 rpm; row 0 between 1 and 3; row 100 its only cell.
    with open(os.path.join(run.out, "plain", "from_csv.csv"), newline="", encoding="utf-8") as file:
        expect("csv head", next(csv.reader(file)), ["throttle [%] \\ rpm [rpm]", "3000", "6000", "9000"])
    run.expect_rows("plain", "from_csv", [[1, 2, 3], [5, 5, 5]])

    # feather: 1 inside 2000..3000, 500 beyond 3000 of a feather of 2000 is 3/4; at 1000, half. += 4 mg times the weight.
    run.expect_rows("plain", "soft", [[10 + 4 * 0.5, 10 + 4, 10 + 4, 10 + 4 * 0.75, 10]])
    # *= 1.5 at weights .5, 1, 1, .75, 0: 1 + w/2.
    run.expect_rows("plain", "scaled", [[12.5, 15, 15, 13.75, 10]])
    # /= 2 is *= 0.5: 1 - w/2; then = 8 goes w of the way.
    run.expect_rows("plain", "halved", [[7.5 + .5 * .5, 8, 8, 6.25 + .75 * 1.75, 10]])
    # Self look-up: each cell takes its left neighbour as it was before the statement (1000 rpm lower), edge held; the last is at 5000: 3.5.
    run.expect_rows("plain", "shifted", [[1, 1, 2, 3, 3.5]])
    # Relative 10 %, then 3 (mg), then 1 g, then a fraction of 0.5 (relative); a % map: + 5 points, * 1.1, - 2 points.
    run.expect_rows("plain", "amounts", [[((100 * 1.1) + 3 + 1000) * 1.5]])
    run.expect_rows("plain", "points", [[(50 + 5) * 1.1 - 2]])
    run.expect_rows("plain", "ratio", [[0.9 * 1.05 + 0.05]])
    # 50 degF = 10 degC; + 9 K in degF is + 16.2; point less point in K: 5 takes degF, 45 degF = 25 K.
    run.expect_rows("plain", "warmth", [[50 + 16.2]])
    run.expect_rows("plain", "spread", [[25 * 2]])
    run.expect_rows("plain", "engine_kw", [[100 * 2 * math.pi * 6000 / 60 / 1000]])
    # Order: base 10, rule + 5 = 15; trims: from's 2 then own *2 = 34; clamp at 20.
    run.expect_rows("plain", "ordered", [[15.0, 16.0]])
    run.expect_rows("grid/one-wet-minus5degC-0.5pct", "ordered", [[17.0, 18.0]])
    run.expect_rows("child", "ordered", [[20.0, 20.0]])
    # Who reads the clamped map sees 20; the clamp isn't fed back to `source`.
    run.expect_rows("child", "reader", [[20.0 + 1, 20 + 1]])
    expect("clamp verdicts", [tunes[t]["limits"]["cap"]["verdict"] for t in ("plain", "child")], ["pass", "clamp"])
    expect("clamped cells", tunes["child"]["limits"]["cap"]["clamped"], 2)
    # A map over one axis in a map over two, with other breakpoints: 4000 between 1000 (1) and 5000 (5) is 4.
    run.expect_rows("plain", "mixed", [[4.0 + 0, 5], [4.0 + 1, 6]])
    # step: to the next cell of the grid being evaluated, absolute: |5 - 4| there, 0 at the last.
    run.expect_rows("plain", "jumps", [[1, 0], [1, 0]])
    # `where` on the cell: only cells above 2 mg; both with over.
    run.expect_rows("plain", "somewhere", [[1, 2, 13, 14, 5]])
    run.expect_rows("plain", "branches", [[5, 7]])
    run.expect_rows("plain", "fuzzy", [[2.0, 2.0, 4.0, -4.0, 512.0]])

    expect("members", [t for t in tunes if t.startswith("grid/")],
           ["grid/one-wet-minus5degC-0.5pct", "grid/one-wet-10degC-0.5pct", "grid/two-no_wet-minus5degC-0.5pct"])
    expect("excluded", run.summary["matrices"]["grid"]["excluded"],
           ["grid/one-no_wet-minus5degC-0.5pct", "grid/one-no_wet-10degC-0.5pct", "grid/two-wet-minus5degC-0.5pct",
            "grid/two-wet-10degC-0.5pct", "grid/two-no_wet-10degC-0.5pct"])
    # Limits on the union of breakpoints: one_axis has 1000, 5000; mixed 4000, 5000: three columns by two rows.
    expect("union cells", tunes["plain"]["limits"]["union"]["cells"], 6)
    # mixed - one_axis at 100 % and 1000 rpm: mixed holds its edge 5 there, one_axis is 1: 4 > 3 fails, twice counting 0 %.
    expect("union failing", tunes["plain"]["limits"]["union"]["failing"], 1)
    expect("union verdict", tunes["plain"]["limits"]["union"]["verdict"], "fail")
    expect("union margin", tunes["plain"]["limits"]["union"]["worst_margin"], 3.5 - 4)
    expect("slack", tunes["plain"]["limits"]["slack"]["verdict"], "pass")
    expect("warned", tunes["plain"]["limits"]["warned"]["verdict"], "warn")
    expect("not applied", tunes["plain"]["limits"]["only_wet"]["verdict"], "not applied")
    expect("checks", tunes["plain"]["checks"]["good"]["verdict"], "pass")
    expect("bad checks", len(tunes["plain"]["checks"]["bad"]["failing"]), 2)


def negatives():
    for what, text in REFUSED.items():
        expect(f"refused: {what}", Run({"tune.fettle": text}).status, 2)
    for what, text in ACCEPTED.items():
        expect(f"accepted: {what}", Run({"tune.fettle": text}).status, 0)


if __name__ == "__main__":
    example()
    small()
    sys.stderr = open(os.devnull, "w")      # the refusals' messages
    negatives()
    sys.stderr = sys.__stderr__
    print("\n".join(failures) or f"all {counted} values agree")
    sys.exit(1 if failures else 0)

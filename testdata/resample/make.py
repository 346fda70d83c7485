#!/usr/bin/env python3
"""Makes golden.json: resampling by scipy, storing by Python's decimal, and the best breakpoints by trying all.

    python3 make.py > golden.json

The tables are random, from one seed. Nothing here is shared with the compiler. It was run with numpy and scipy
of Debian; other versions may draw other tables, which are as good.
"""
import itertools
import json
import random
from decimal import Decimal, ROUND_HALF_EVEN
from fractions import Fraction

import numpy as np
from scipy.interpolate import RegularGridInterpolator

draw = random.Random(124)


def ascending(n, low, high, step):
    places = [round(low + step * k, 6) for k in range(int(round((high - low) / step)) + 1)]
    return sorted(draw.sample(places, n))


def axis(kind, n):
    if kind == "throttle":
        return ascending(n, 0, 100, 0.5)
    return ascending(n, 1000, 14000, 50)


def look_up(rows, cols, cells, r, c):
    """The table at one place; beyond its outermost breakpoints it holds its edge."""
    c = min(max(c, cols[0]), cols[-1])
    if rows is None:
        return float(np.interp(c, cols, cells))
    r = min(max(r, rows[0]), rows[-1])
    grid = np.array(cells).reshape(len(rows), len(cols))
    if len(rows) == 1:
        return float(np.interp(c, cols, grid[0]))
    if len(cols) == 1:
        return float(np.interp(r, rows, grid[:, 0]))
    return float(RegularGridInterpolator((rows, cols), grid, method="linear")([[r, c]])[0])


def resampled(rows, cols, cells, to_rows, to_cols):
    return [look_up(rows, cols, cells, r, c) for r in (to_rows or [None]) for c in to_cols]


def errors(rows, cols, cells, to_rows, to_cols, values):
    """Of a resampled table against the first, at the breakpoints of the first."""
    places = [(r, c) for r in (rows or [None]) for c in cols]
    off = [abs(look_up(to_rows, to_cols, values, r, c) - cells[k]) for k, (r, c) in enumerate(places)]
    return max(off), sum(off) / len(off)


def table(two, most=8):
    rows = axis("throttle", draw.randint(2, most)) if two else None
    cols = axis("rpm", draw.randint(2, most))
    cells = [round(draw.uniform(-5, 20), draw.choice([0, 1, 2, 6])) for _ in range((len(rows) if two else 1) * len(cols))]
    return rows, cols, cells


def resampling():
    out = []
    for k in range(40):
        rows, cols, cells = table(k % 4 != 0)
        to_rows = axis("throttle", draw.randint(1, 9)) if rows else None
        to_cols = axis("rpm", draw.randint(1, 9))
        want = resampled(rows, cols, cells, to_rows, to_cols)
        largest, mean = errors(rows, cols, cells, to_rows, to_cols, want)
        out.append(dict(rows=rows, cols=cols, cells=cells, to_rows=to_rows, to_cols=to_cols, want=want, largest=largest, mean=mean))
    return out


RANGES = {"u8": (0, 255), "i8": (-128, 127), "u16": (0, 65535), "i16": (-32768, 32767), "u32": (0, 2**32 - 1), "i32": (-2**31, 2**31 - 1)}


def storing():
    out = []
    for k in range(60):
        kind = draw.choice(list(RANGES))
        low, high = RANGES[kind]
        step = draw.choice(["0.004", "0.5", "0.01", "0.1", "0.25", "1", "3", "0.0075"])
        offset = draw.choice(["0", "0", "10", "-40", "0.002", "-7.3", "1.005"])
        s, o = Decimal(step), Decimal(offset)
        span = min(high - low, 70000)
        begin = max(low, -span // 2)
        cells = []
        for _ in range(20):
            raw = draw.randint(begin, begin + span)
            way = draw.random()
            part = Decimal("0.5") if way < 0.4 else Decimal(draw.randint(0, 1000)) / 1000 if way < 0.8 else Decimal(0)
            cells.append(float(o + (raw + part) * s))
        if k % 6 == 0:
            cells.append(float(o + s * (high + draw.randint(1, 9))))
        if k % 10 == 0:
            cells.append(float(o + s * (low - draw.randint(1, 9))))
        raws, values, bad = [], [], 0
        for x in cells:
            # Quotients of decimals needn't be decimals, so the half is found with fractions, and
            # checked with decimal where the quotient is exact.
            q = (Fraction(Decimal(repr(x))) - Fraction(o)) / Fraction(s)
            raw = round(q)  # half to even
            exact = (Decimal(repr(x)) - o) / s
            if Fraction(exact) == q:
                assert int(exact.quantize(Decimal(1), rounding=ROUND_HALF_EVEN)) == raw, (x, step, offset)
            bad += not low <= raw <= high
            raws.append(raw)
            values.append(float(o + raw * s))
        out.append(dict(type=kind, step=float(s), offset=float(o), cells=cells, raw=raws, values=values, bad=bad,
                        lo=float(o + low * s), hi=float(o + high * s)))
    return out


def choosing():
    """The best breakpoints along one axis, by trying all."""
    out = []
    for k in range(30):
        two = k % 2 == 1
        rows, cols, cells = table(two, 7)
        while len(cols) < 4:
            rows, cols, cells = table(two, 7)
        cols = [500.0 * (2 + i) for i in sorted(draw.sample(range(14), len(cols)))]
        places = cols if k % 3 == 0 else [x for x in np.arange(cols[0], cols[-1] + 1, 500.0).tolist()]
        n = draw.randint(2, min(6, len(places)))
        best = None
        for inner in itertools.combinations(places[1:-1], n - 2):
            chosen = [places[0], *inner, places[-1]]
            values = resampled(rows, cols, cells, rows, chosen)
            off = errors(rows, cols, cells, rows, chosen, values)
            if best is None or off[0] < best[0] - 1e-12 or abs(off[0] - best[0]) <= 1e-12 and off[1] < best[1] - 1e-12:
                best = off
        out.append(dict(rows=rows, cols=cols, cells=cells, places=places, n=n, largest=best[0], mean=best[1]))
    return out


def lines(name, cases):
    return f'  "{name}": [\n' + ",\n".join("    " + json.dumps(c) for c in cases) + "\n  ]"


print("{\n" + ",\n".join([lines("resampling", resampling()), lines("storing", storing()), lines("choosing", choosing())]) + "\n}")

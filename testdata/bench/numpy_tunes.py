#!/usr/bin/env python3
"""The tables of W(N) by numpy, as a peer of fettle. Started by `go run ./testdata/bench/run`; by hand:

    python3 numpy_tunes.py (single|batch) work.json RUNS cells.bin

single: one variant at a time, on arrays of 20 rows by 24 columns.
batch:  many variants of one pipe at once, on arrays of 20 x 24 x 64. The variants are the last axis, so the look-up,
        which is the same for all variants of a pipe, copies whole runs of memory.

What depends on the cell alone is worked out once, before the clock starts.
"""
import json
import sys
import time

import numpy as np

BATCH = 64  # variants: a table of them is 245 kB and stays in the second cache


def ramp_up(x, start, feather):
    return np.clip(1 - (start - x) / feather, 0, 1)


def ramp_down(x, end, feather):
    return np.clip(1 - (x - end) / feather, 0, 1)


class Work:
    def __init__(self, w):
        self.tunes, self.blends, self.pipes = w["tunes"], w["blends"], w["pipes"]
        rows, self.cols = np.array(w["rows"])[:, None], np.array(w["cols"])
        x, y = self.cols / 10000, rows / 100
        hit = ramp_up(self.cols, 8000, 1200) * ramp_down(self.cols, 10500, 1200) * ramp_up(rows, 40, 25)
        low = ramp_down(self.cols, 5000, 1500) * ramp_down(rows, 30, 20)
        shape = (len(w["rows"]), len(w["cols"]))
        # Of a map: base, factor of the hit, polynomial, weight of the guarded rule, ceiling.
        self.fuel = np.reshape(w["fuel"], shape), 1 + hit * 0.04, 1 + 0.03 * x * y - 0.02 * x**2 + 0.01 * y**2, low, 21
        self.spark = np.reshape(w["spark"], shape), 1 + hit * 0.04, 1 - 0.02 * x * y + 0.01 * x**2 - 0.01 * y**2, hit, 29.5

    def factors(self, altitude, temp, stoich, octane, pipe):
        """What fuel and spark are multiplied with, and what the guarded rules take away; of one variant or of many."""
        thin = (1 - altitude / 44330) ** 5.2559 * np.sqrt(293.15 / (temp + 273.15))
        trust = self.pipes[pipe]["trust"] / self.pipes["stock"]["trust"]
        fuel = thin * (self.blends["pump98"]["stoich"] / stoich) * trust
        spark = thin * (self.blends["pump98"]["octane"] / octane) * trust
        return fuel, spark, np.where(temp < 12, 0.08, 0), np.where(temp > 28, 1.5, 0)

    def knots(self, pipe):
        """Where each column stands among the breakpoints when rpm is multiplied by the pipe's shift."""
        shift = self.pipes[pipe]["tuned"] / self.pipes["stock"]["tuned"]
        at = np.clip(self.cols * shift, self.cols[0], self.cols[-1])
        lo = np.clip(np.searchsorted(self.cols, at, "right") - 1, 0, len(self.cols) - 2)
        return lo, (at - self.cols[lo]) / (self.cols[lo + 1] - self.cols[lo])


def single(w):
    def table(m, factor, less, lo, frac):
        base, hit, bent, part, most = m
        x = base * factor * hit
        left = x[:, lo]
        x = (left + frac * (x[:, lo + 1] - left)) * bent
        if less:
            x -= less * part
        return np.minimum(x, most, out=x)

    for i, t in enumerate(w.tunes):
        blend = w.blends[t["blend"]]
        kf, ks, cold, hot = w.factors(t["altitude"], t["air_temp"], blend["stoich"], blend["octane"], t["pipe"])
        lo, frac = w.knots(t["pipe"])
        yield [i], table(w.fuel, kf, cold, lo, frac), table(w.spark, ks, hot, lo, frac)


def batch(w):
    arrays = np.empty((4, 20, 24, BATCH))

    def table(m, factor, less, lo, frac, x, left, out):
        base, hit, bent, part, most = (v[..., None] if np.ndim(v) else v for v in m)
        np.multiply(base, factor, out=x)
        x *= hit
        np.take(x, lo, axis=1, out=left, mode="clip")
        np.take(x, lo + 1, axis=1, out=out, mode="clip")
        out -= left
        out *= frac[:, None]
        out += left
        out *= bent
        if less.any():
            np.multiply(less, part, out=left)
            out -= left
        return np.minimum(out, most, out=out)

    by_pipe = {}
    for i, t in enumerate(w.tunes):
        by_pipe.setdefault(t["pipe"], []).append(i)
    for pipe, all_of_pipe in by_pipe.items():
        lo, frac = w.knots(pipe)
        for start in range(0, len(all_of_pipe), BATCH):
            ids = all_of_pipe[start:start + BATCH]
            conditions = [(t["altitude"], t["air_temp"], w.blends[t["blend"]]["stoich"], w.blends[t["blend"]]["octane"])
                          for t in (w.tunes[i] for i in ids)]
            kf, ks, cold, hot = w.factors(*np.array(conditions).T, pipe)
            x, left, fuel, spark = arrays[..., :len(ids)]
            yield ids, table(w.fuel, kf, cold, lo, frac, x, left, fuel), table(w.spark, ks, hot, lo, frac, x, left, spark)


def main():
    way, path, runs, cells = sys.argv[1:]
    with open(path) as f:
        w = Work(json.load(f))
    way = {"single": single, "batch": batch}[way]
    print("version numpy", np.__version__ + ", Python", sys.version.split()[0])
    tables = np.empty((len(w.tunes), 2, 20, 24))
    for ids, fuel, spark in way(w):
        for m, x in enumerate((fuel, spark)):
            tables[ids, m] = np.moveaxis(x, -1, 0) if x.ndim == 3 else x
    tables.tofile(cells)
    for _ in range(int(runs)):
        start = time.perf_counter_ns()
        for _ in way(w):
            pass
        print("run", time.perf_counter_ns() - start, flush=True)


main()

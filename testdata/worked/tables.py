"""What the worked tunes share: raw grids, blanks, weights, look-ups, and the file that they write.

Of the sources only the numbers of grids are read. Rules and formulas stand in the programs, in Python.
"""

import csv
import json
import os
import platform

import numpy
import scipy
from scipy.interpolate import RegularGridInterpolator

HERE = os.path.dirname(os.path.abspath(__file__))
EXAMPLES = os.path.join(HERE, "..", "..", "examples")


class Grid:
    """Cells in rows and columns; a map over one axis is one row, and its rows are None."""

    def __init__(self, rows, columns, cells):
        self.rows = None if rows is None else numpy.array(rows, dtype=float)
        self.columns = numpy.array(columns, dtype=float)
        self.cells = numpy.array(cells, dtype=float)

    def like(self, cells):
        """A grid with these breakpoints and other cells."""
        return Grid(self.rows, self.columns, numpy.broadcast_to(cells, self.cells.shape))

    def places(self):
        """The row's and the column's coordinate of every cell."""
        return numpy.meshgrid(self.rows, self.columns, indexing="ij")


def number(text):
    """A cell's number; a blank is not a number."""
    return numpy.nan if text.strip() in ("_", "") else float(text)


def read_map(path, name):
    """The raw numbers of `map NAME ... { grid }` in a source."""
    lines, inside = [], False
    with open(os.path.join(EXAMPLES, path), encoding="utf-8") as file:
        for line in file:
            line = line.split("#")[0].strip()
            if inside and line == "}":
                break
            if inside and line:
                lines.append([part.split() for part in line.split("|")])
            inside = inside or line.startswith("map " + name + " ") and line.endswith("{")
    columns = [float(x) for x in lines[0][1]]
    cells = [[number(x) for x in right] for _, right in lines[1:]]
    if len(lines) == 2 and not lines[1][0]:
        return fill_blanks(Grid(None, columns, cells))
    return fill_blanks(Grid([float(left[0]) for left, _ in lines[1:]], columns, cells))


def read_csv_map(path):
    """The raw numbers of a grid in a CSV file."""
    with open(os.path.join(EXAMPLES, path), newline="", encoding="utf-8") as file:
        table = list(csv.reader(file))
    return fill_blanks(Grid([float(row[0]) for row in table[1:]],
                            [float(x) for x in table[0][1:]],
                            [[number(x) for x in row[1:]] for row in table[1:]]))


def between(x, at, values):
    """On the straight line between the nearest two given values around x; None if there is none on a side."""
    left = [k for k in range(len(at)) if at[k] < x and not numpy.isnan(values[k])]
    right = [k for k in range(len(at)) if at[k] > x and not numpy.isnan(values[k])]
    if not left or not right:
        return None
    return numpy.interp(x, [at[left[-1]], at[right[0]]], [values[left[-1]], values[right[0]]])


def nearest(x, at, values):
    """The nearest given value to one side of x; blanks with some on both sides are filled before."""
    given = [k for k in range(len(at)) if not numpy.isnan(values[k])]
    return values[min(given, key=lambda k: abs(at[k] - x))] if given else None


def fill_blanks(grid):
    """Blanks: along the row, along the column, the nearest of the row, of the column; given cells only."""
    given, filled = grid.cells, grid.cells.copy()
    for i, j in zip(*numpy.where(numpy.isnan(given))):
        along_row = grid.columns[j], grid.columns, given[i]
        along_column = (0, [0], [numpy.nan]) if grid.rows is None else (grid.rows[i], grid.rows, given[:, j])
        for how, line in ((between, along_row), (between, along_column), (nearest, along_row), (nearest, along_column)):
            value = how(*line)
            if value is not None:
                filled[i, j] = value
                break
        else:
            raise ValueError("a blank with nothing to lean on")
    return Grid(grid.rows, grid.columns, filled)


def inside(x, low=-numpy.inf, high=numpy.inf, feather=0):
    """A range's weight: 1 inside, falling along a straight line to 0 over the feather outside."""
    outside = numpy.maximum(numpy.maximum(low - x, x - high), 0)
    if feather == 0:
        return numpy.where(outside > 0, 0.0, 1.0)
    return numpy.clip(1 - outside / feather, 0, 1)


def look_up(grid, row, column):
    """The value between breakpoints; beyond the outermost ones it is the edge's."""
    row = numpy.clip(row, grid.rows[0], grid.rows[-1])
    column = numpy.clip(column, grid.columns[0], grid.columns[-1])
    surface = RegularGridInterpolator((grid.rows, grid.columns), grid.cells, method="linear")
    return surface(numpy.stack(numpy.broadcast_arrays(row, column), axis=-1))


def look_up_line(grid, x):
    """The same over one axis; numpy.interp holds the edges by itself."""
    return numpy.interp(x, grid.columns, grid.cells[0])


def write(name, about, tunes):
    """Writes NAME.json: of every map of every tune its unit, breakpoints and cells, with 17 digits."""

    def numbers(values):
        if not numpy.all(numpy.isfinite(values)):
            raise ValueError("a value that isn't finite")
        return "[" + ", ".join("%.17g" % v for v in values) + "]"

    blocks = []
    for tune, maps in tunes.items():
        tables = []
        for key, (unit, grid) in maps.items():
            rows = "null" if grid.rows is None else numbers(grid.rows)
            cells = ",\n     ".join(numbers(row) for row in grid.cells)
            tables.append(f'   {json.dumps(key)}: {{"unit": {json.dumps(unit)},\n    "rows": {rows},\n'
                          f'    "columns": {numbers(grid.columns)},\n    "cells": [\n     {cells}]}}')
        blocks.append("  " + json.dumps(tune) + ": {\n" + ",\n".join(tables) + "}")
    made_with = f"Python {platform.python_version()}, numpy {numpy.__version__}, scipy {scipy.__version__}"
    with open(os.path.join(HERE, name + ".json"), "w", encoding="utf-8", newline="\n") as file:
        file.write('{"about": ' + json.dumps(about) + ',\n "program": ' + json.dumps(name + ".py") + ',\n "made_with": '
                   + json.dumps(made_with) + ',\n "tunes": {\n' + ",\n".join(blocks) + "}}\n")
    count = {tune: sum(grid.cells.size for _, grid in maps.values()) for tune, maps in tunes.items()}
    print(name, made_with, count, sum(count.values()), "cells")

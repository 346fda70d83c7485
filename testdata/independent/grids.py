"""Grids: reading cells, filling blanks, looking up (see fettle_ref.py). All numbers are exact fractions in base units."""

import csv
import math
import re
from bisect import bisect_right
from fractions import Fraction
from lexer import FUNCTIONS, KEYWORDS
from units import FettleError, PLAIN, parse_unit

SIGNED = re.compile(r"[+-]?[0-9]+(\.[0-9]+)?([eE][+-]?[0-9]+)?$")
OWN_UNIT = re.compile(r"([+-]?[0-9.]+(?:[eE][+-]?[0-9]+)?)\s*([A-Za-z_%]+|\[[^\]]*\])$")
HEADING = re.compile(r"([a-z][a-z0-9_]*)\s*(?:\[([^\]]*)\])?$")


def number(text, where):
    if not SIGNED.match(text):
        raise FettleError(f"{text!r} is not a number", where)
    return Fraction(text)


def quantity(text, unit, where):
    """A catalogue's cell: a number in the column's unit, or a number with a unit of its own."""
    match = OWN_UNIT.match(text)
    if not match:
        return unit.to_base(number(text, where))
    own = parse_unit(match.group(2).strip("[]"), where)
    if own.dim != unit.dim:
        raise FettleError(f"{text!r} doesn't fit a column in [{unit.text}]", where)
    return own.to_base(number(match.group(1), where))


def heading(text, where):
    """`name` or `name [unit]`: the name, and the bracket's text or None."""
    match = HEADING.match(text.strip())
    if not match:
        raise FettleError(f"{text!r} is not a heading", where)
    return match.group(1), match.group(2)


def read_csv(path, where):
    try:
        with open(path, newline="", encoding="utf-8-sig") as file:
            rows = [(f"{path}:{number}", [cell.strip() for cell in row])
                    for number, row in enumerate(csv.reader(file), 1) if any(cell.strip() for cell in row)]
    except OSError as error:
        raise FettleError(f"can't read {path}: {error.strerror}", where)
    if not rows:
        raise FettleError(f"{path} is empty", where)
    return rows


def cells_from_lines(lines, filename):
    """The text of a grid in place, as the same rows of cells that a CSV has."""
    rows = []
    for line, text in lines:
        if text.count("|") != 1:
            raise FettleError("a line of a grid has one |", f"{filename}:{line}")
        left, right = text.split("|")
        rows.append((f"{filename}:{line}", [left.strip()] + right.split()))
    return rows


class Grid:
    """Cells over one or two axes; a grid over one axis is a single row."""

    def __init__(self, axes, breakpoints, rows, filled=()):
        self.axes, self.breakpoints, self.rows, self.filled = axes, breakpoints, rows, set(filled)

    def copy(self):
        return Grid(self.axes, self.breakpoints, [list(row) for row in self.rows], self.filled)

    def cells(self):
        """Each cell: (row index, column index, {axis: coordinate}, {axis: index})."""
        for i, row in enumerate(self.rows):
            for j in range(len(row)):
                index = (j,) if len(self.axes) == 1 else (i, j)
                at = {axis: points[k] for axis, points, k in zip(self.axes, self.breakpoints, index)}
                yield i, j, at, dict(zip(self.axes, index))

    def lookup(self, coordinates):
        """Linear between breakpoints, along the row and then down; beyond the outermost the edge holds."""
        k, share = place(self.breakpoints[-1], coordinates[-1])
        if len(self.axes) == 1:
            return between(self.rows[0], k, share)
        row, down = place(self.breakpoints[0], coordinates[0])
        upper = between(self.rows[row], k, share)
        return upper if down == 0 else upper + down * (between(self.rows[row + 1], k, share) - upper)


def place(points, x):
    """Between which breakpoints: (index of the lower, how far towards the next)."""
    if x <= points[0]:
        return 0, 0
    if x >= points[-1]:
        return len(points) - 1, 0
    k = bisect_right(points, x) - 1
    return k, (x - points[k]) / (points[k + 1] - points[k])


def between(values, k, share):
    return values[k] if share == 0 else values[k] + share * (values[k + 1] - values[k])


def build_grid(rows, unit, axes, blank):
    """Rows of text cells to a grid. `axes` maps a name to (unit, low, high); `unit` is the map's."""
    where, head = rows[0]
    names, points = head[0].split("\\"), []
    if len(names) > 2:
        raise FettleError("a map has one or two axes", where)
    axis_names, axis_units = [], []
    for text in names:
        name, bracket = heading(text, where)
        if name not in axes:
            raise FettleError(f"{name!r} is not an axis", where)
        axis_unit = axes[name][0]
        given = axis_unit if bracket is None else parse_unit(bracket, where)
        if given.dim != axis_unit.dim:
            raise FettleError(f"[{bracket}] is not a unit of {name}", where)
        axis_names.append(name)
        axis_units.append(given)
    if len(set(axis_names)) != len(axis_names):
        raise FettleError("the same axis twice", where)
    columns = [axis_units[-1].to_base(number(text, where)) for text in head[1:]]
    points = [columns]
    body = rows[1:]
    if not body or not columns:
        raise FettleError("a grid without cells", where)
    if len(axis_names) == 2:
        points.insert(0, [axis_units[0].to_base(number(cells[0], w)) for w, cells in body])
    elif len(body) != 1 or body[0][1][0] != "":
        raise FettleError("a map over one axis has one line of cells, which begins with |", where)
    for name, values in zip(axis_names, points):
        _, low, high = axes[name]
        if any(b <= a for a, b in zip(values, values[1:])):
            raise FettleError(f"the breakpoints of {name} must ascend", where)
        if values[0] < low or values[-1] > high:
            raise FettleError(f"a breakpoint of {name} lies outside the axis", where)
    cells = []
    for w, texts in body:
        if len(texts) - 1 != len(columns):
            raise FettleError(f"{len(texts) - 1} cells under {len(columns)} breakpoints", w)
        cells.append([None if text == blank else unit.to_base(number(text, w)) for text in texts[1:]])
    filled = [(i, j) for i, row in enumerate(cells) for j, cell in enumerate(row) if cell is None]
    rows_points = points[0] if len(axis_names) == 2 else [Fraction(0)]
    return Grid(axis_names, points, fill(cells, rows_points, columns, where), filled)


def build_curve(rows, unit):
    """A grid of one line over a quantity of its own: (that quantity's unit, the grid)."""
    where, head = rows[0]
    if "\\" in head[0]:
        raise FettleError("a curve runs over one quantity", where)
    name, bracket = heading(head[0], where)
    if name in KEYWORDS or name in FUNCTIONS:
        raise FettleError(f"{name!r} can't name what a curve runs over", where)
    over = PLAIN if bracket is None else parse_unit(bracket, where)
    return over, build_grid(rows, unit, {name: (over, -math.inf, math.inf)}, "_")


def fill(cells, row_points, column_points, where):
    """Blanks are filled from the given cells only, so the order doesn't matter."""
    def inside(values, points, k):
        before = [n for n in range(k) if values[n] is not None]
        after = [n for n in range(k + 1, len(values)) if values[n] is not None]
        if before and after:
            a, b = before[-1], after[0]
            share = (points[k] - points[a]) / (points[b] - points[a])
            return values[a] + share * (values[b] - values[a])
        return None

    def nearest(values, k):
        # Only asked when given cells lie on one side alone, so "nearest" has no ties.
        known = [n for n in range(len(values)) if values[n] is not None]
        return values[min(known, key=lambda n: abs(n - k))] if known else None

    result = [list(row) for row in cells]
    for i, row in enumerate(cells):
        for j, cell in enumerate(row):
            if cell is not None:
                continue
            column = [other[j] for other in cells]
            for value in (inside(row, column_points, j), inside(column, row_points, i), nearest(row, j), nearest(column, i)):
                if value is not None:
                    result[i][j] = value
                    break
            else:
                raise FettleError("a blank with nothing to lean on", where)
    return result


def build_catalog(rows, where):
    """Rows of text to ({column: its unit, "text" or "yesno"}, {row: {column: value}})."""
    head_where, head = rows[0]
    if head[0] != "name":
        raise FettleError("a catalogue's first column is `name`", head_where)
    body, columns, table = rows[1:], {}, {}
    if not body:
        raise FettleError("a catalogue without rows", where)
    for w, cells in body:
        if len(cells) != len(head):
            raise FettleError(f"{len(cells)} cells under {len(head)} headings", w)
        if not HEADING.match(cells[0]) or "[" in cells[0] or cells[0] in KEYWORDS:
            raise FettleError(f"{cells[0]!r} is not a name", w)
        if cells[0] in table:
            raise FettleError(f"row {cells[0]} twice", w)
        table[cells[0]] = {}
    for place, text in enumerate(head[1:], 1):
        name, bracket = heading(text, head_where)
        if name in KEYWORDS:
            raise FettleError(f"{name!r} is a word of the language, not a name", head_where)
        if name in columns:
            raise FettleError(f"column {name} twice", head_where)
        if bracket == "text":
            columns[name] = "text"
            continue
        yesno = bracket == "yes/no" or (bracket is None and body[0][1][place] in ("yes", "no"))
        columns[name] = "yesno" if yesno else parse_unit(bracket, head_where) if bracket else PLAIN
        for w, cells in body:
            cell = cells[place]
            if cell in ("", "_"):
                raise FettleError(f"{cells[0]}.{name} is empty", w)
            if yesno and cell not in ("yes", "no"):
                raise FettleError(f"{cells[0]}.{name} is neither yes nor no", w)
            table[cells[0]][name] = cell == "yes" if yesno else quantity(cell, columns[name], w)
    return columns, table

"""Limits and checks of one tune (see fettle_ref.py)."""

import re
from decimal import Decimal, ROUND_HALF_EVEN
from fractions import Fraction
from checker import Scope
from evaluate import COMPARE, Env, TuneFailure, as_float, ev
from grids import Grid
from units import FettleError, PLAIN, ZERO

SLACK = Fraction(1, 10**9)


def holds(node, env, negated=False):
    """(holds, margin in base units or None) of a condition in a limit; a positive margin is room left.

    The slack is in favour of the whole limit, so a comparison under a `not` must hold by as much.
    """
    kind = node.kind
    if kind == "cmp":
        a, b = ev(node.a, env), ev(node.b, env)
        if not isinstance(a, Fraction):
            return COMPARE[node.op](a, b), None
        slack = SLACK * max(abs(a), abs(b))
        if node.op == "==":
            return abs(a - b) <= slack, -abs(a - b)
        if node.op == "!=":
            return abs(a - b) > slack, abs(a - b)
        margin = b - a if node.op[0] == "<" else a - b
        return margin > slack if negated else margin >= -slack, margin
    if kind in ("range", "and", "or"):
        first, margin = holds(node.a, env, negated)
        if first == (kind == "or"):
            return first, margin
        second, other = holds(node.b, env, negated)
        both = [m for m in (margin, other) if m is not None]
        return second, (max(both) if kind == "or" else min(both)) if both else None
    if kind == "not":
        return not holds(node.a, env, not negated)[0], None
    if kind == "if":
        return holds(node.yes if ev(node.cond, env) else node.no, env, negated)
    return ev(node, env), None


def unit_of_margin(node):
    """The unit in which a limit's margin is told: that of the named side of its (first) comparison, or of its literal."""
    if node.kind == "cmp":
        if node.unit is not None:
            return node.unit.difference
        for side in (node.b, node.a):
            if side.kind == "num" and side.unit is not None:
                return side.unit.difference
        operand = node.b if node.a.bare else node.a
        return PLAIN if operand.bare or operand.t.dim == ZERO else None
    return unit_of_margin(node.a) if hasattr(node, "a") else None


def union_grid(program, limit):
    """The union of the named maps' breakpoints, axis by axis."""
    points = {axis: set() for axis in limit.axes}
    for name in limit.maps:
        shape = program.maps[name].shape
        for axis, values in zip(shape.axes, shape.breakpoints):
            if axis in points:      # a clamp has only the axes of the map that it bounds
                points[axis].update(values)
    return limit.axes, [sorted(points[axis]) for axis in limit.axes]


def cells_of(axes, points):
    """Every combination of breakpoints; a limit that names no map has one cell, without coordinates."""
    places = [()]
    for values in points:
        places = [place + (k,) for place in places for k in range(len(values))]
    for place in places:
        yield ({axis: values[k] for axis, values, k in zip(axes, points, place)}, dict(zip(axes, place)))


def judge_limit(tune, limit):
    if not tune.holds(limit):
        return {"verdict": "not applied"}
    program = tune.program
    axes, points = union_grid(program, limit)
    grid = Grid(axes, points, [])
    failing, worst, at_worst, looked = 0, None, None, 0
    for at, index in cells_of(axes, points):
        env = Env(tune, at=at, index=index, grid=grid)
        if limit.cell_where is not None and not ev(limit.cell_where, env):
            continue
        looked += 1
        good, margin = holds(limit.cond, env)
        failing += not good
        if margin is not None and (worst is None or margin < worst):
            worst, at_worst = margin, at
    if limit.cell_where is not None and looked == 0:
        return {"verdict": "not applied"}
    result = {"verdict": "pass", "cells": looked, "failing": failing}
    if limit.mode == "clamp":
        result["clamped"] = tune.clamped.get(limit.name, 0)
    if failing:     # of a clamp too: between its own breakpoints the map may still be out of bounds
        result["verdict"] = "warn" if limit.mode == "warn" else "fail"
    elif limit.mode == "clamp" and result["clamped"]:
        result["verdict"] = "clamp"
    if worst is not None:
        unit = unit_of_margin(limit.cond)
        result["worst_margin"] = as_float(worst / unit.factor if unit else worst)
        result["margin_unit"] = unit.text if unit else "base units"
        result["worst_cell"] = {axis: as_float(program.axes[axis].unit.from_base(x)) for axis, x in at_worst.items()}
    return result


# --- checks

def check_expectations(program):
    """Names and units of every `check`."""
    checker = program.checker
    for d in program.workspace.of_kind("check"):
        scope = Scope(program.workspace.space, "a check", axes=[])
        for s in d.statements:
            checker.condition(s.expr, scope)
            if s.tolerance is None:
                continue
            if s.expr.kind != "cmp" or s.expr.op != "==":
                raise FettleError("+- follows an ==", s.where)
            dim = s.expr.a.t.dim if hasattr(s.expr.a, "t") else s.expr.b.t.dim
            s.relative = False
            if s.tolerance.bare:
                if s.expr.unit is None and dim != ZERO:
                    raise FettleError("write the tolerance's unit", s.where)
                checker.give(s.tolerance, (s.expr.unit or PLAIN).difference)
                if s.tolerance.number < 0:
                    raise FettleError("a tolerance below zero", s.where)
            else:
                t = checker.number(s.tolerance, scope)
                s.relative = s.tolerance.kind == "num" and s.tolerance.unit.is_percent
                if is_negative(checker, s.tolerance):
                    raise FettleError("a tolerance below zero", s.where)
                if t.point or (not s.relative and t.dim != dim):
                    raise FettleError("unit mismatch: the tolerance", s.where)


def is_negative(checker, tolerance):
    return checker.is_fixed(tolerance) and checker.fixed(tolerance) < 0


def six_digits(value):
    """A number rounded half to even to 6 significant digits, as a decimal."""
    if value == 0:
        return Decimal(0)
    # Enough digits that the second rounding can't move the first one's tie, except for values no tune has.
    exact = Decimal(value.numerator) / Decimal(value.denominator)
    return exact.quantize(Decimal(1).scaleb(exact.adjusted() - 5), rounding=ROUND_HALF_EVEN).normalize()


def judge_expectation(s, env):
    e = s.expr
    if e.kind != "cmp" or e.op != "==" or not isinstance(ev(e.a, env), Fraction):
        return bool(ev(e, env))
    actual, expected = ev(e.a, env), ev(e.b, env)
    if s.tolerance is not None:
        tolerance = ev(s.tolerance, env)
        unit = e.unit or PLAIN
        size = abs(unit.from_base(expected)) * unit.factor if s.relative else 1
        return abs(actual - expected) <= tolerance * size
    unit = e.unit or (e.b.unit if e.b.kind == "num" else None) or PLAIN
    return six_digits(unit.from_base(actual)) == six_digits(unit.from_base(expected))


def judge_check(tune, d):
    env = Env(tune, at={}, index={})
    failed = [s.where for s in d.statements if not judge_expectation(s, env)]
    return {"verdict": "fail", "failing": failed} if failed else {"verdict": "pass"}


def pattern_matches(pattern, name):
    """`*` is any run of characters but /, `?` is one of them."""
    text = "".join({"*": "[^/]*", "?": "[^/]"}.get(char, re.escape(char)) for char in pattern)
    return re.fullmatch(text, name) is not None


def safely(judge, *arguments):
    try:
        return judge(*arguments)
    except TuneFailure as failure:
        return {"verdict": "fail", "error": str(failure)}

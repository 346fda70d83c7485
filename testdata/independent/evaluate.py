"""Values of checked expressions, and the maps of one tune (see fettle_ref.py).

Arithmetic is exact (fractions) except for roots, exp, log and broken powers, which go through a float.
"""

import math
from fractions import Fraction
from units import FettleError

ONE = Fraction(1)


class TuneFailure(Exception):
    """This tune can't be computed; the source is well formed."""


def keep(value):
    """Fractions may grow without end; past 4000 bits a float's 53 are as good."""
    if isinstance(value, Fraction) and value.denominator.bit_length() > 4000:
        return Fraction(as_float(value))
    return value


def as_float(value):
    try:
        return float(value)
    except OverflowError:
        raise TuneFailure("a result is not finite")


class Env:
    """What an expression is evaluated in. `own` is the map being adjusted, `before` it as it was before the statement."""

    def __init__(self, tune, params=None, at=None, index=None, grid=None, own=None, before=None):
        self.tune, self.params, self.at, self.index, self.grid = tune, params, at, index, grid
        self.own, self.before = own, before

    def map_at(self, name, coordinates):
        grid = self.before if name == self.own else self.tune.final(name)
        return grid.lookup(coordinates)


def ev(node, env):
    return EVALUATE[node.kind](node, env)


def ev_name(node, env):
    ref = node.ref
    kind, d = ref[0], ref[1]
    if kind == "param":
        return env.params[d.name]
    if kind == "axis":
        return env.at[d.name]
    if kind == "map":
        return env.map_at(d.name, [env.at[axis] for axis in d.shape.axes])
    if kind == "column":
        return d.rows[ref[2]][ref[3]]
    if kind == "givencol":
        return d.table.rows[env.tune.condition(d, node)][ref[2]]
    if kind == "given":
        return env.tune.condition(d, node)
    return env.tune.let(d)


def ev_bin(node, env):
    a, b = ev(node.a, env), ev(node.b, env)
    op = node.op
    if op == "+":
        return a + b
    if op == "-":
        return a - b
    if op == "*":
        return a * b
    if op == "/":
        return divide(a, b, node)
    return power(a, b, node)


def divide(a, b, node):
    if b == 0:
        raise TuneFailure(f"{node.where}: a result is not finite (division by zero)")
    return a / b


def power(a, b, node):
    if b.denominator == 1 and abs(b) <= 64:
        if a == 0 and b < 0:
            raise TuneFailure(f"{node.where}: a result is not finite (zero to a negative power)")
        return keep(a ** int(b))
    try:
        result = math.pow(as_float(a), as_float(b))
        return Fraction(result)
    except (ValueError, OverflowError):
        raise TuneFailure(f"{node.where}: a result is not finite (power)")


COMPARE = {
    "<": lambda a, b: a < b, "<=": lambda a, b: a <= b, ">": lambda a, b: a > b, ">=": lambda a, b: a >= b,
    "==": lambda a, b: a == b, "!=": lambda a, b: a != b,
}


def ev_call(node, env):
    kind, d = node.ref
    if kind == "builtin":
        return BUILTIN[d](node, env)
    arguments = tuple(ev(argument, env) for argument in node.args)
    if kind == "map":
        return env.map_at(d.name, arguments)
    if kind == "curve":
        return d.grid.lookup(arguments)
    return call(d, arguments, env.tune, node)


def call(fn, arguments, tune, node):
    """Functions see only their parameters and constants of the tune, so equal calls are computed once."""
    key = (fn, arguments)
    if key not in tune.calls:
        for p, value in zip(fn.params, arguments):
            low, high = (None if b is None else ev(b, Env(tune)) for b in p.within)
            if (low is not None and value < low) or (high is not None and value > high):
                shown = as_float(p.unit.from_base(value))
                raise TuneFailure(f"{node.where}: {fn.name}: {p.name} = {shown!r} {p.unit.text} is out of its range")
        tune.calls[key] = keep(ev(fn.expr, Env(tune, params=dict(zip((p.name for p in fn.params), arguments)))))
    return tune.calls[key]


def ev_step(node, env):
    d, axis = node.args[0].ref[1], node.args[1].ref[1].name
    points = env.grid.breakpoints[env.grid.axes.index(axis)]
    k = env.index[axis]
    if k + 1 >= len(points):
        return Fraction(0)
    here = env.map_at(d.name, [env.at[a] for a in d.shape.axes])
    there = env.map_at(d.name, [points[k + 1] if a == axis else env.at[a] for a in d.shape.axes])
    return abs(there - here)


def through_float(function):
    def compute(node, env):
        try:
            return Fraction(function(as_float(ev(node.args[0], env))))
        except (ValueError, OverflowError):
            raise TuneFailure(f"{node.where}: a result is not finite")
    return compute


def ev_clamp(node, env):
    x, low, high = (ev(argument, env) for argument in node.args)
    return min(max(x, low), high)


BUILTIN = {
    "min": lambda n, e: min(ev(a, e) for a in n.args),
    "max": lambda n, e: max(ev(a, e) for a in n.args),
    "clamp": ev_clamp,
    "abs": lambda n, e: abs(ev(n.args[0], e)),
    "sqrt": through_float(math.sqrt), "exp": through_float(math.exp), "log": through_float(math.log),
    "round": lambda n, e: Fraction(round(ev(n.args[0], e))),        # half to even
    "floor": lambda n, e: Fraction(math.floor(ev(n.args[0], e))),
    "ceil": lambda n, e: Fraction(math.ceil(ev(n.args[0], e))),
    "step": ev_step,
}

EVALUATE = {
    "num": lambda n, e: n.value,
    "name": ev_name,
    "neg": lambda n, e: -ev(n.a, e),
    "bin": ev_bin,
    "cmp": lambda n, e: COMPARE[n.op](ev(n.a, e), ev(n.b, e)),
    "range": lambda n, e: ev(n.a, e) and ev(n.b, e),
    "and": lambda n, e: ev(n.a, e) and ev(n.b, e),
    "or": lambda n, e: ev(n.a, e) or ev(n.b, e),
    "not": lambda n, e: not ev(n.a, e),
    "is": lambda n, e: ev(n.a, e) == n.row,
    "if": lambda n, e: ev(n.yes if ev(n.cond, e) else n.no, e),
    "call": ev_call,
}


class Tune:
    """One point in the space of conditions. `conditions` None: only constants may be computed."""

    def __init__(self, program, conditions, trims=(), name=None):
        self.program, self.conditions, self.trims, self.name = program, conditions, list(trims), name
        self.lets, self.calls, self.maps, self.clamped, self.held = {}, {}, {}, {}, {}

    def condition(self, given, node):
        if self.conditions is None:
            raise FettleError(f"a constant is wanted here; {given.name} differs from tune to tune", node.where)
        return self.conditions[given.name]

    def let(self, d):
        if d not in self.lets:
            self.lets[d] = keep(ev(d.expr, Env(self)))
        return self.lets[d]

    def holds(self, d):
        """Whether a rule's or limit's `when` holds; decided once a tune."""
        if d not in self.held:
            self.held[d] = d.when is None or ev(d.when, Env(self))
        return self.held[d]

    def final(self, name):
        """A map as everyone else sees it: base, rules, trims, clamps."""
        if name not in self.maps:
            d = self.program.maps[name]
            grid = self.base(d)
            for rule in self.program.rules:
                for statement in rule.statements:
                    if statement.map == name and self.holds(rule):
                        grid = self.adjust(d, grid, statement, f"rule {rule.name}")
            for trim in self.trims:
                if trim.map == name:
                    grid = self.adjust(d, grid, trim, "trim")
            for limit in self.program.limits:
                if limit.mode == "clamp" and limit.clamps == name and self.holds(limit):
                    grid = self.clamp(d, grid, limit)
            self.maps[name] = grid
        return self.maps[name]

    def base(self, d):
        if d.source != "like":
            return d.grid
        grid = d.shape.copy()
        grid.filled = set()
        for i, j, at, index in d.shape.cells():
            env = Env(self, at=at, index=index, grid=d.shape)
            grid.rows[i][j] = self.finite(d, ev_in_cell(d.expr, env, d, at, "base"))
        return grid

    def adjust(self, d, grid, statement, by):
        after = grid.copy()
        for i, j, at, index in grid.cells():
            env = Env(self, at=at, index=index, grid=grid, own=d.name, before=grid)
            weight = self.weight(statement.over, env)
            if weight == 0:
                continue        # the amount isn't computed where it has no weight
            if statement.cell_where is not None and not ev_in_cell(statement.cell_where, env, d, at, by):
                continue
            old, amount = grid.rows[i][j], ev_in_cell(statement.amount, env, d, at, by)
            after.rows[i][j] = self.finite(d, adjusted(statement, old, amount, weight))
        return after

    def finite(self, d, value):
        as_float(value)
        return keep(value)

    def weight(self, parts, env):
        """1 inside, falling linearly to 0 over the feather's width outside; the weights of parts multiply."""
        weight = ONE
        for part in parts:
            if part.region is not None:
                weight *= self.weight(self.program.regions[part.region].items, env)
                continue
            x = env.at[part.axis]
            low, high, feather = (None if b is None else ev(b, Env(self)) for b in (part.low, part.high, part.feather))
            if low is not None and high is not None and low > high:
                raise TuneFailure(f"{part.where}: a range whose low end is above its high end")
            if feather is not None and feather < 0:
                raise TuneFailure(f"{part.where}: a feather below zero")
            outside = max(low - x if low is not None else 0, x - high if high is not None else 0, 0)
            if outside > 0:
                weight *= max(Fraction(0), 1 - outside / feather) if feather else 0
        return weight

    def clamp(self, d, grid, limit):
        after, count = grid.copy(), 0
        for i, j, at, index in grid.cells():
            env = Env(self, at=at, index=index, grid=grid, own=d.name, before=grid)
            if limit.cell_where is not None and not ev_in_cell(limit.cell_where, env, d, at, f"limit {limit.name}"):
                continue
            value = grid.rows[i][j]
            for side, bound in limit.bounds:
                edge = ev_in_cell(bound, env, d, at, f"limit {limit.name}")
                value = min(value, edge) if side == "upper" else max(value, edge)
            if value != grid.rows[i][j]:
                count += 1
                after.rows[i][j] = self.finite(d, value)
        self.clamped[limit.name] = count
        return after


def ev_in_cell(node, env, d, at, by):
    try:
        return ev(node, env)
    except TuneFailure as failure:
        if " in a cell of " in str(failure):
            raise
        place = ", ".join(f"{axis} {as_float(value):g} (base units)" for axis, value in at.items())
        raise TuneFailure(f"{failure} in a cell of {d.name} at {place}, {by}")


def adjusted(statement, old, amount, weight):
    op = statement.op
    if op == "=":
        return old + weight * (amount - old)
    if op in ("*=", "/="):
        factor = divide(ONE, amount, statement) if op == "/=" else amount
        return old * (1 + weight * (factor - 1))
    signed = amount if op == "+=" else -amount
    if statement.relative:
        return old * (1 + weight * signed)
    return old + weight * signed

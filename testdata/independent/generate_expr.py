"""Random expressions whose units fit, for generate.py. They are texts only; neither reading's code makes them."""

from fractions import Fraction

# Dimension: (units as they stand in brackets, the size of each in the first one, what is usual in the first one).
# Temperatures are points or K; their sizes are worked out in `in_unit`.
DIMS = {
    "mass": (["mg", "g"], [1, 1000], (1, 20)),
    "speed": (["rpm", "rev/s", "deg/ms"], [1, 60, Fraction(500, 3)], (1200, 13000)),
    "angle": (["deg", "rev", "rad"], [1, 360, Fraction(57.29577951308232)], (4, 35)),
    "pressure": (["kPa", "psi", "bar", "hPa"], [1, Fraction("6.894757293168361"), 100, Fraction(1, 10)], (60, 250)),
    "ratio": (["", "%"], [1, Fraction(1, 100)], (Fraction(3, 10), 2)),
    "length": (["m", "ft", "km"], [1, Fraction("0.3048"), 1000], (0, 2000)),
    "time": (["ms", "us", "s"], [1, Fraction(1, 1000), 1000], (Fraction(3, 10), 9)),
    "temp": (["degC", "degF", "K"], None, (-10, 110)),
    "diff": (["K"], [1], (2, 40)),
}
PERCENT = "%"
IF, OR, AND, NOT, COMPARE, SUM, PRODUCT, NEGATION, POWER, ATOM = range(10)


def in_unit(dim, x, unit):
    """A value told in the dimension's first unit, in another."""
    if dim == "temp":
        return {"degC": x, "degF": x * Fraction(9, 5) + 32, "K": x + Fraction("273.15")}[unit]
    units, sizes, _ = DIMS[dim]
    return x / sizes[units.index(unit)]


def digits(rng, x, places=4):
    """A number as a source has it, not far from x. Odd last digits keep comparisons off the knife's edge."""
    x = float(x)
    if x == 0:
        return "0"
    text = f"{x:.{places}g}"
    if "e" in text:
        text = f"{x:.10f}".rstrip("0") if abs(x) < 1 else str(int(x))
    if rng.random() < 0.04 and "." not in text:
        text = f"{int(text) // 10}e1"
    return text


class E:
    """A text with how tightly it binds; `unit` is that of a bare name (or look-up), which a literal opposite takes."""

    def __init__(self, text, binds=ATOM, unit=None):
        self.text, self.binds, self.unit = text, binds, unit

    def at(self, level):
        return self.text if self.binds >= level else f"({self.text})"


class Thing:
    """A declared name that has a value: kind is axis, given, let, map, column, param."""

    def __init__(self, name, kind, dim, unit, axes=()):
        self.name, self.kind, self.dim, self.unit, self.axes = name, kind, dim, unit, axes


class Place:
    """Where an expression stands: the names it may use."""

    def __init__(self, things=(), axes=(), bare=(), lookups=(), fns=(), rows=(), switches=(), modules=()):
        self.things, self.axes, self.bare, self.lookups = list(things), list(axes), list(bare), list(lookups)
        self.fns, self.rows, self.switches, self.modules = list(fns), list(rows), list(switches), list(modules)

    def leaves(self, dim):
        found = [t for t in self.things + self.axes + self.bare if t.dim == dim]
        if dim == "diff":
            found += [t for t in self.things + self.axes + self.bare if t.dim == "temp" and t.unit == "K"]
        return found


class Expressions:
    def __init__(self, rng, axes):
        self.rng, self.axes = rng, axes     # axes: name -> Thing

    def pick(self, *chances):
        """One of (weight, function) pairs, called."""
        total = self.rng.random() * sum(weight for weight, _ in chances)
        for weight, function in chances:
            total -= weight
            if total < 0:
                return function()
        return chances[-1][1]()

    # --- literals

    def usual(self, dim):
        low, high = DIMS[dim][2]
        return Fraction(self.rng.uniform(float(low), float(high)))

    def literal(self, dim, unit=None, near=None):
        """A quantity with its unit. Of a plain number the unit is nothing."""
        x = self.usual(dim) if near is None else near
        if unit is None:
            unit = self.rng.choice(DIMS[dim][0]) if dim != "ratio" else PERCENT     # numbers alone mean other things elsewhere
        number = digits(self.rng, in_unit(dim, x, unit))
        if unit == "":
            return E(number, NEGATION if number[0] == "-" else ATOM)
        if unit.isalpha() or unit == PERCENT:
            space = self.rng.choice([" ", "", " "]) if unit != "%" else self.rng.choice([" ", ""])
            if space == "" and number[-2:-1] == "e":
                space = " "
            text = number + space + unit
        else:
            text = f"{number} [{unit}]"
        return E(text, NEGATION)        # a power needs parentheses around it

    def bare(self, dim, unit):
        number = digits(self.rng, in_unit(dim, self.usual(dim), unit))
        return E(number, NEGATION if number[0] == "-" else ATOM)

    # --- numbers

    def leaf(self, dim, place):
        found = place.leaves(dim)
        if not found or self.rng.random() < 0.12:
            return self.literal(dim)
        t = self.rng.choice(found)
        return E(t.name, ATOM, t.unit)

    def number(self, dim, place, depth):
        if depth <= 0 or self.rng.random() < 0.2:
            return self.leaf(dim, place)
        shared = [(2, lambda: self.either(dim, place, depth)), (2, lambda: self.extreme(dim, place, depth)),
                  (2, lambda: self.lookup(dim, place, depth)), (2, lambda: self.call(dim, place, depth))]
        if dim == "temp":
            return self.pick((3, lambda: self.leaf(dim, place)), (4, lambda: self.warmer(place, depth)), *shared)
        own = [(4, lambda: self.sum(dim, place, depth)), (5, lambda: self.scaled(dim, place, depth)),
               (1, lambda: E(f"abs({self.number(dim, place, depth - 1).text})")),
               (1, lambda: E(f"-{self.number(dim, place, depth - 1).at(NEGATION)} + {self.literal(dim).text}", SUM)),
               (1, lambda: self.roots(dim, place, depth))]
        if dim == "ratio":
            own += [(4, lambda: self.share(place, depth)), (2, lambda: self.curve(place, depth))]
        if dim == "diff":
            own += [(6, lambda: self.difference(place, depth))]
        return self.pick(*own, *shared)

    def sum(self, dim, place, depth):
        a, b = self.number(dim, place, depth - 1), self.number(dim, place, depth - 2)
        chance = self.rng.random()
        if a.unit is not None and a.unit != PERCENT and chance < 0.3:
            b = self.bare(dim, a.unit)
            if chance < 0.1:
                return E(f"{b.at(SUM)} + {a.at(PRODUCT)}", SUM)
        if chance > 0.5:
            b = E(f"{b.at(PRODUCT)} * {self.plain(0.02, 0.3, 2)}", PRODUCT)
        return E(f"{a.at(SUM)} {self.rng.choice('+-')} {b.at(PRODUCT)}", SUM)

    def scaled(self, dim, place, depth):
        a, k = self.number(dim, place, depth - 1), self.number("ratio", place, depth - 2)
        return self.pick(
            (2, lambda: E(f"{a.at(PRODUCT)} * {self.plain(0.7, 1.4)}", PRODUCT)), (1, lambda: E(f"{self.plain(0.7, 1.4)} * {a.at(NEGATION)}", PRODUCT)),
            (3, lambda: E(f"{a.at(PRODUCT)} * {k.at(NEGATION)}", PRODUCT)),
            (2, lambda: E(f"{k.at(PRODUCT)} * {a.at(NEGATION)}", PRODUCT)),
            (2, lambda: E(f"{a.at(PRODUCT)} / {self.not_zero(k)}", PRODUCT)),
            (1, lambda: E(f"{a.at(PRODUCT)} * {k.at(NEGATION)} / {self.plain(0.5, 2)}", PRODUCT)))

    def not_zero(self, k):
        return self.rng.choice([f"(1 + {k.at(POWER)} ^ 2)", f"max({k.text}, 31.7)" if k.unit == PERCENT else f"max({k.text}, 31.7 %)",
                                f"(abs({k.text}) + {self.plain(10, 90)} %)"])

    def plain(self, low, high, places=3):
        return digits(self.rng, self.rng.uniform(low, high), places)

    def share(self, place, depth):
        """A ratio of two of a kind."""
        dim = self.rng.choice(["mass", "speed", "angle", "pressure", "time", "diff"])
        a = self.number(dim, place, depth - 1)
        b = self.literal(dim) if self.rng.random() < 0.6 or dim == "diff" else self.leaf(dim, place)
        if dim == "length" or b.unit is not None:
            b = E(f"max({b.text}, {self.literal(dim).text})")
        return E(f"{a.at(PRODUCT)} / {b.at(NEGATION)}", PRODUCT)

    def curve(self, place, depth):
        x = self.number("ratio", place, depth - 1)
        odd = self.plain(2, 9, 5)
        positive = f"abs({x.text}) + {self.plain(20, 99)} %"
        return self.pick(
            (1, lambda: E(f"exp(-abs({x.text}))")),
            (1, lambda: E(f"log({positive})")),
            (1, lambda: E(f"sqrt({positive})")),
            (2, lambda: E(f"({positive}) ^ {self.rng.choice(['2', '0.5', '1.37', '-1', '(1 / 3)', '2 ^ 0.5', '-0.4'])}", POWER)),
            (1, lambda: E(f"2 - {x.at(POWER)} ^ 2 / 3", SUM)), (1, lambda: E(f"-{x.at(POWER)} ^ 2 + 1.5", SUM)),
            (1, lambda: E(f"{self.rng.choice(['round', 'floor', 'ceil'])}({x.at(PRODUCT)} * {odd}0913 + 0.517 %) / {odd}", PRODUCT)))

    def roots(self, dim, place, depth):
        a = self.leaf(dim, place)
        b = self.leaf(dim, place)
        return self.pick(
            (1, lambda: E(f"sqrt({a.at(PRODUCT)} * {a.at(NEGATION)})")),
            (1, lambda: E(f"({a.text}) ^ 2 / {b.at(NEGATION)}" if dim != "length" else a.text, PRODUCT)),
            (1, lambda: E(f"sqrt(({a.text}) ^ 2 + ({b.text}) ^ 2)")),
            (1, lambda: E(f"abs(({a.text}) ^ 3) ^ (1 / 3)", POWER)))

    def warmer(self, place, depth):
        t, d = self.number("temp", place, depth - 1), self.number("diff", place, depth - 2)
        return E(f"{t.at(SUM)} {self.rng.choice('+-')} {d.at(PRODUCT)}", SUM)

    def difference(self, place, depth):
        a, b = self.number("temp", place, depth - 1), self.number("temp", place, depth - 2)
        if a.unit is not None and self.rng.random() < 0.4:
            b = self.bare("temp", a.unit)
        minus = E(f"{a.at(SUM)} - {b.at(PRODUCT)}", SUM)
        if "K" in (a.unit, b.unit) or a.text.endswith("K") or b.text.endswith("K"):
            # A K beside a point may be either, which moves the value by 273 K: keep it small.
            return E(f"{self.number('diff', place, 0).at(PRODUCT)}", PRODUCT)
        return minus

    def either(self, dim, place, depth):
        a, b = self.number(dim, place, depth - 1), self.number(dim, place, depth - 2)
        if a.unit is not None and self.rng.random() < 0.3:
            b = self.bare(dim, a.unit)
        return E(f"if {self.condition(place, depth - 1).text} then {a.text} else {b.text}", IF)

    def extreme(self, dim, place, depth):
        a, b = self.number(dim, place, depth - 1), self.number(dim, place, depth - 2)
        if a.unit is not None and self.rng.random() < 0.4:
            b = self.bare(dim, a.unit)
        if self.rng.random() < 0.3:
            low, high = sorted([self.usual(dim), self.usual(dim)])
            unit = PERCENT if dim == "ratio" else self.rng.choice(DIMS[dim][0])
            return E(f"clamp({a.text}, {self.literal(dim, unit, low).text}, {self.literal(dim, unit, high).text})")
        third = f", {self.literal(dim).text}" if self.rng.random() < 0.2 else ""
        return E(f"{self.rng.choice(['min', 'max'])}({a.text}, {b.text}{third})")

    def lookup(self, dim, place, depth):
        maps = [m for m in place.lookups if m.dim == dim]
        if not maps:
            return self.scaled(dim, place, depth) if dim != "temp" else self.leaf(dim, place)
        m = self.rng.choice(maps)
        return E(f"{m.name}({', '.join(self.coordinate(axis, place, depth) for axis in m.axes)})", ATOM, m.unit)

    def coordinate(self, axis, place, depth):
        a = self.axes[axis]
        here = any(x.name == axis for x in place.axes)
        return self.pick(
            (3 if here else 0, lambda: axis),
            (3 if here and a.dim != "temp" else 0, lambda: f"{axis} * {self.plain(0.85, 1.2, 4)}"),
            (1, lambda: self.bare(a.dim, a.unit).text),
            (1, lambda: self.literal(a.dim).text),
            (1, lambda: self.number(a.dim, place, min(depth - 1, 1)).text))

    def call(self, dim, place, depth):
        if dim == "ratio" and "air" in place.modules and self.rng.random() < 0.4:
            altitude, warm = self.leaf("length", place).text, self.leaf("temp", place).text
            return E(f"air.density(air.pressure(clamp({altitude}, 0 m, 3000 m)), clamp({warm}, -20 degC, 60 degC), 40 %) / 1.2 [kg/m^3]", PRODUCT)
        if dim == "time" and "injection" in place.modules and self.rng.random() < 0.6:
            return E(f"injection.open_time({self.number('mass', place, depth - 1).text}, 420 [g/min], 0.55 ms)")
        fns = [f for f in place.fns if f.dim == dim]
        if not fns:
            return self.leaf(dim, place)
        f = self.rng.choice(fns)
        arguments = [self.bare(d, u).text if self.rng.random() < 0.2 else self.number(d, place, min(depth - 1, 1)).text for d, u in f.axes]
        return E(f"{f.name}({', '.join(arguments)})")

    # --- yes/no

    def condition(self, place, depth):
        if depth > 0 and self.rng.random() < 0.35:
            a, b = self.condition(place, depth - 1), self.condition(place, depth - 1)
            return self.pick(
                (2, lambda: E(f"{a.at(AND)} and {b.at(NOT)}", AND)),
                (2, lambda: E(f"{a.at(OR)} or {b.at(AND)}", OR)),
                (1, lambda: E(f"not {a.at(NOT)}", NOT)))
        return self.pick(
            (2 if place.rows else 0, lambda: self.row(place)),
            (2 if place.switches else 0, lambda: E(self.rng.choice(place.switches))),
            (4, lambda: self.comparison(place, depth)))

    def row(self, place):
        name, rows = self.rng.choice(place.rows)
        return E(f"{name} is {self.rng.choice(rows)}", COMPARE)

    def comparison(self, place, depth):
        named = [t for t in place.things + place.axes + place.bare if t.unit is not None]
        if not named:
            return E(f"{self.literal('mass').text} < {self.literal('mass').text}", COMPARE)
        operator = self.rng.choice(["<", "<=", ">", ">="])
        t = self.rng.choice(named)
        if depth <= 0 or self.rng.random() < 0.5:
            b = self.bare(t.dim, t.unit) if self.rng.random() < 0.5 else self.literal(t.dim)
            pair = [t.name, b.text]
        else:
            pair = [self.number(t.dim, place, depth - 1).at(SUM), self.literal(t.dim).text]
        if self.rng.random() < 0.2:
            pair.reverse()
        return E(f"{pair[0]} {operator} {pair[1]}", COMPARE)

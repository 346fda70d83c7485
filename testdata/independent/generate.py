#!/usr/bin/env python3
"""Random well-formed workspaces, for holding two readings of the language against each other.

    python3 generate.py OUTDIR FIRST COUNT

writes OUTDIR/NNNN/tune.fettle (and the files it uses) for the seeds FIRST, FIRST + 1, …. The same seed gives the same
workspace. Numbers are invented and mean nothing. Expected values come from expect.py; so do those that its checks have,
right or wrong.
"""

import os
import random
import sys
import tempfile
from fractions import Fraction

sys.dont_write_bytecode = True

from expect import expected
from generate_expr import DIMS, E, Expressions, PERCENT, Place, SUM, Thing, digits, in_unit
from generate_tables import AXES, MAPS, Tables, bracket, decimal, written_unit

GIVENS = [("altitude", "length", "m", -400, 4500), ("air_temp", "temp", "degC", -20, 50), ("track_temp", "temp", "degF", 20, 150),
          ("share", "ratio", "%", 0, 100), ("gain", "ratio", "", 0, 3), ("baro", "pressure", "hPa", 500, 1100), ("idle", "speed", "rpm", 500, 4000)]


def shuffled(rng, items):
    items = list(items)
    rng.shuffle(items)
    return items


class Generator(Tables):
    def __init__(self, seed):
        self.rng = random.Random(seed)
        rng = self.rng
        self.files = {}
        self.declarations, self.ordered = [], []        # any order; as written
        self.axes = {name: (Thing(name, "axis", dim, unit), low, high)
                     for name, dim, unit, low, high in rng.sample(AXES, rng.randint(2, 3))}
        self.e = Expressions(rng, {name: a[0] for name, a in self.axes.items()})
        self.modules = [m for m in ("air", "injection") if rng.random() < 0.4]
        self.things, self.rows, self.switches, self.fns = [], [], [], []
        self.givens, self.maps, self.regions = [], [], []
        self.points = {}
        for name, (thing, low, high) in self.axes.items():
            self.declare(f"axis {name}{bracket(thing.unit)} {self.ends(thing, low, high)}")
        self.catalogs()
        self.conditions()
        self.values()
        self.functions()
        for index, (name, dim, unit) in enumerate(rng.sample(MAPS, rng.randint(3, 5))):
            self.map(name, dim, unit)
        self.region_decls()
        self.rules()
        self.limits()
        self.variants()

    # --- small parts

    def declare(self, text):
        if self.rng.random() < 0.1:
            text = "# " + self.rng.choice(["Proven on the dyno.", "To be looked at again.", "An invented number."]) + "\n" + text
        self.declarations.append(text)

    def yes(self, chance):
        return self.rng.random() < chance

    def ends(self, thing, low, high):
        if self.yes(0.3) and thing.unit not in ("", "%") and thing.unit.isalpha():
            return f"{low}..{high} {thing.unit}"
        return f"{low}..{high}"

    def place(self, axes=(), lookups=(), givens=True):
        """Where an expression of a cell over these axes stands; bare maps are those whose axes the cell has."""
        things = self.things if givens else []
        bare = [m for m in lookups if set(m.axes) <= set(axes)]
        return Place(things, [self.axes[a][0] for a in axes], bare, lookups, self.fns, self.rows, self.switches, self.modules)

    # --- declarations

    def conditions(self):
        rng = self.rng
        if self.yes(0.6):
            self.declare(f"given wet = {rng.choice(['yes', 'no'])}")
            self.givens.append(("wet", "yesno", None))
            self.switches.append("wet")
        for name, dim, unit, low, high in rng.sample(GIVENS, rng.randint(2, 3)):
            middle = digits(rng, low + (high - low) * rng.uniform(0.2, 0.6), 3)
            written = middle + (" " + unit if unit.isalpha() and self.yes(0.4) else "")
            within = f" within {self.ends(Thing(name, 'given', dim, unit), low, high)}" if self.yes(0.7) else ""
            if within and self.yes(0.2):
                within = within[:within.index("..") + 2]
            self.declare(f"given {name}{bracket(unit)} = {written}{within}")
            self.givens.append((name, dim, (unit, low, high)))
            self.things.append(Thing(name, "given", dim, unit))

    def values(self):
        for k in range(self.rng.randint(1, 3)):
            dim = self.rng.choice([d for d in DIMS if d != "diff"])
            unit = self.rng.choice(DIMS[dim][0])
            name = f"value_{k}"
            place = Place(self.things, rows=self.rows, switches=self.switches, modules=self.modules)
            if self.yes(0.6) or dim == "temp":
                body = self.e.bare(dim, unit).text if self.yes(0.3) else self.e.number(dim, place, 2).text
                self.declare(f"let {name} {('[' + unit + ']') if unit else ''} = {body}")
                if unit or body[0].isdigit():
                    self.things.append(Thing(name, "let", dim, unit))
            else:
                body = self.e.number(dim, place, 2)
                self.declare(f"let {name} = {E('(' + body.text + ')').text}")
                if dim != "ratio":
                    self.things.append(Thing(name, "let", dim, None))

    def functions(self):
        for k in range(self.rng.randint(0, 2)):
            dim = self.rng.choice([d for d in DIMS if d != "diff"])
            parameters, written = [], []
            for name in ("x_of", "y_of")[:self.rng.randint(1, 2)]:
                d = self.rng.choice([dim, dim, "ratio", "temp", "speed"])
                unit = self.rng.choice(DIMS[d][0])
                within = ""
                if self.yes(0.15) and d != "temp":
                    low, high = (in_unit(d, x, unit) for x in (DIMS[d][2][0] - DIMS[d][2][1] * 20, DIMS[d][2][1] * 40))
                    within = f" within {digits(self.rng, low, 3)}..{digits(self.rng, high, 3)}"
                parameters.append(Thing(f"{name}_{k}", "param", d, unit))
                written.append(f"{name}_{k}{bracket(unit)}{within}")
            place = Place(parameters, fns=self.fns, modules=self.modules)
            unit = self.rng.choice(DIMS[dim][0])
            body = self.e.number(dim, place, 3).text
            declared = bracket(unit) if unit or self.yes(0.5) or dim == "temp" else ""
            self.declare(f"fn shape_{k}({', '.join(written)}){declared} = (\n  {body}\n)")
            self.fns.append(Thing(f"shape_{k}", "fn", dim, None, [(p.dim, p.unit) for p in parameters]))

    # --- regions and rules

    def part(self, axis):
        """A range of an axis, often from breakpoint to breakpoint, with or without a feather."""
        rng, (thing, low, high) = self.rng, self.axes[axis]
        used = sorted({x for m in self.maps for a, points in zip(m.axes, self.points[m.name]) if a == axis for x in points})
        ends = sorted(rng.choice(used) if used and self.yes(0.6) else Fraction(low) + Fraction(high - low) * rng.randint(0, 1000) / 1000
                      for _ in range(2))
        a, b = (self.end(thing, x) for x in ends)
        text = self.e.pick((4, lambda: f"{a}..{b}"), (1, lambda: f"..{b}"), (1, lambda: f"{a}.."))
        if not self.yes(0.6):
            return f"{axis} {text}"
        width = Fraction(high - low) * rng.choice([25, 50, 100, 137, 400]) / 1000
        feather = decimal(width)
        if thing.dim == "temp":
            feather += rng.choice(["", " K"])
        elif self.yes(0.3):
            feather = self.e.literal(thing.dim, thing.unit, abs(width * DIMS[thing.dim][1][DIMS[thing.dim][0].index(thing.unit)])).text
        return f"{axis} {text} feather {feather}"

    def end(self, thing, x):
        if self.yes(0.15):
            return f"({decimal(x)}{written_unit(thing.unit)} * 1)" if thing.dim != "temp" else f"({decimal(x)}{written_unit(thing.unit)} + 0 K)"
        if self.yes(0.15):
            return decimal(x) + written_unit(thing.unit)
        return decimal(x)

    def region_decls(self):
        for k in range(self.rng.randint(1, 3)):
            axes = self.rng.sample(sorted(self.axes), self.rng.choice([1, 1, 2]))
            self.regions.append((f"zone_{k}", axes))
            self.declare(f"region zone_{k} = " + ", ".join(self.part(a) for a in axes))

    def over(self, m):
        parts = []
        for name, axes in self.regions:
            if set(axes) <= set(m.axes) and self.yes(0.3):
                parts.append(name)
        for axis in m.axes:
            if self.yes(0.4):
                parts.append(self.part(axis))
        return " over " + ", ".join(parts) if parts else ""

    def statement(self, m, maps):
        """One adjustment of a map; it may read itself and the maps in the list."""
        rng = self.rng
        place = self.place(m.axes, list(maps) + [m])
        over = self.over(m) if self.yes(0.65) else ""
        where = ""
        if self.yes(0.2):
            axis = self.axes[rng.choice(m.axes)][0]
            test = f"{rng.choice([axis.name, m.name])} {rng.choice(['<', '>', '<=', '>='])} "
            test += self.e.bare(axis.dim if test.startswith(axis.name) else m.dim, axis.unit if test.startswith(axis.name) else m.unit).text
            where = " where " + rng.choice([test, f"{self.e.condition(place, 1).at(2)} and {test}"])
        operator = rng.choice(["=", "+=", "-=", "*=", "/=", "+=", "*="])
        if operator in ("*=", "/=") and m.dim == "temp" and m.unit != "K":
            operator = rng.choice(["+=", "-="])
        return f"{m.name} {operator} {self.amount(m, operator, place)}{over}{where}"

    def amount(self, m, operator, place):
        rng, e = self.rng, self.e
        if operator == "=":
            own = f"{m.name}({', '.join(e.coordinate(a, place, 1) for a in m.axes)})"
            return e.pick((4, lambda: own), (1, lambda: e.bare(m.dim, m.unit).text), (4, lambda: e.number(m.dim, place, 3).text))
        if operator in ("*=", "/="):
            return e.pick((2, lambda: digits(rng, rng.uniform(0.8, 1.25), 3)), (1, lambda: digits(rng, rng.uniform(80, 125), 3) + " %"),
                          (3, lambda: e.number("ratio", place, 1).text if operator == "*=" else e.not_zero(e.number("ratio", place, 2))))
        if m.dim == "temp":
            number = digits(rng, rng.uniform(1, 12), 3)
            return e.pick((1, lambda: number), (1, lambda: number + " K"), (2, lambda: self.bare_safe(e.number("diff", place, 2)).text))
        some = in_unit(m.dim, e.usual(m.dim) / 8, m.unit)
        if m.dim == "ratio":
            choices = [(1, lambda: digits(rng, some, 3)), (2, lambda: self.bare_safe(e.number("ratio", place, 2)).text)]
            if m.unit == PERCENT:
                choices.append((2, lambda: digits(rng, some, 3) + " %"))
            return e.pick(*choices)
        return e.pick((2, lambda: digits(rng, some, 3)), (2, lambda: digits(rng, rng.uniform(1, 9), 2) + " %"),
                      (1, lambda: e.literal(m.dim, None, e.usual(m.dim) / 9).text), (2, lambda: e.number(m.dim, place, 2).text),
                      (2, lambda: self.bare_safe(e.number("ratio", place, 2)).text))

    def bare_safe(self, x):
        """A written per cent or number alone would mean something else here than the expression does."""
        alone = x.text.replace("%", "").replace("K", "").strip("() -").replace(".", "").replace("e", "").strip().isdigit()
        return E(f"1 * {x.text}", SUM) if alone and "K" not in x.text else x

    def rules(self):
        rng = self.rng
        place = Place(self.things, rows=self.rows, switches=self.switches, fns=self.fns, modules=self.modules)
        for k in range(rng.randint(2, 5)):
            head = f"rule change_{k}"
            clauses = []
            if self.yes(0.6):
                clauses.append(f" when {self.e.condition(place, 2).text}")
            if self.yes(0.2):
                clauses.append(f" corrects {', '.join(g[0] for g in rng.sample(self.givens, rng.randint(1, 2)))}")
            lines = []
            for _ in range(rng.randint(1, 4)):
                index = rng.randrange(len(self.maps))
                lines.append(self.statement(self.maps[index], self.maps[:index]))
            body = " { " + lines[0] + " }" if len(lines) == 1 and self.yes(0.4) else " {\n" + "\n".join("  " + line for line in lines) + "\n}"
            self.ordered.append(head + "".join(shuffled(rng, clauses)) + body)

    # --- limits, variants

    def limits(self):
        rng = self.rng
        when = Place(self.things, rows=self.rows, switches=self.switches, modules=self.modules)
        for k in range(rng.randint(1, 4)):
            index = rng.randrange(len(self.maps))
            m = self.maps[index]
            low, high = sorted(in_unit(m.dim, self.e.usual(m.dim), m.unit) for _ in range(2))
            low, high = digits(rng, low - abs(high - low) * Fraction(rng.uniform(0, 2))), digits(rng, high + abs(high - low) * Fraction(rng.uniform(0, 2)))
            mode = rng.choice(["", "", " else warn", " else clamp"])
            others = [n for n in self.maps[:index] if set(n.axes) <= set(m.axes) and n.dim == m.dim]
            text = self.e.pick(
                (3, lambda: f"{m.name} <= {high}"), (1, lambda: f"{high} > {m.name}"), (3, lambda: f"{low} <= {m.name} <= {high}"),
                (1, lambda: f"{m.name} >= {low} and {m.name} < {high}"), (1 if others else 0, lambda: f"{m.name} <= {rng.choice(others).name}" if others else ""))
            if mode != " else clamp" and m.dim != "temp":
                text = self.e.pick((3, lambda: text), (2, lambda: f"step({m.name}, {rng.choice(m.axes)}) <= {self.e.literal(m.dim, m.unit).text}"),
                                   (1, lambda: f"step({m.name}, {rng.choice(m.axes)}) / {self.e.literal(m.dim).text} <= 60 %"),
                                   (2, lambda: self.across(m, text)))
            where = ""
            if self.yes(0.2):
                axis = self.axes[rng.choice(m.axes)][0]
                where = f" where {axis.name} {rng.choice(['<', '>='])} {self.e.bare(axis.dim, axis.unit).text}"
            condition = f" when {self.e.condition(when, 1).text}" if self.yes(0.3) else ""
            self.ordered.append(f"limit bound_{k}: {text}{where}{condition}{mode}")

    def across(self, m, text):
        """A limit over two maps: it is looked at on the union of their breakpoints."""
        same = [n for n in self.maps if n is not m and n.dim == m.dim and len(set(n.axes) | set(m.axes)) <= 2]
        if not same:
            return text
        return f"{m.name} - {self.rng.choice(same).name} <= {self.e.literal(m.dim).text}"

    def setting(self, given, many):
        name, dim, more = given
        rng = self.rng
        if dim == "row":
            values = shuffled(rng, more)[:rng.randint(1, 3)]
        elif dim == "yesno":
            values = shuffled(rng, ["yes", "no"])[:rng.randint(1, 2)]
        else:
            unit, low, high = more
            values = []
            for x in sorted({Fraction(rng.randint(0, 20), 20) for _ in range(rng.randint(1, 3))}):
                value = decimal(low + (high - low) * x)
                values.append(value + rng.choice(["", written_unit(unit)]))
            if self.yes(0.1) and name in ("altitude",):
                values.append("0.731 [km]")
        return f"  {name} = {', '.join(values if many else values[:1])}"

    def variants(self):
        rng = self.rng
        place = Place(self.things, rows=self.rows, switches=self.switches)
        self.ordered.append("variant bench { }")
        for k in range(rng.randint(1, 2)):
            lines = [self.setting(g, True) for g in rng.sample(self.givens, min(len(self.givens), rng.randint(1, 3)))]
            for _ in range(rng.choice([0, 0, 1, 2]) if sum(line.count(",") for line in lines) > 1 else 0):
                lines.append(f"  except {self.excepted(lines, place)}")
            if self.yes(0.3):
                lines.append("  trim " + self.trim())
            self.ordered.append(f"variants matrix_{k}{' from bench' if self.yes(0.2) else ''} {{\n" + "\n".join(lines) + "\n}")
        source = "bench"
        for k in range(rng.randint(0, 3)):
            lines = [self.setting(g, False) for g in rng.sample(self.givens, rng.randint(0, 2))]
            lines += ["  trim " + self.trim() for _ in range(rng.randint(0, 2))]
            self.ordered.append(f"variant special_{k} from {source} {{\n" + "\n".join(lines) + "\n}")
            source = f"special_{k}"

    def excepted(self, lines, place):
        """Mostly one of the values written above, so that not everything is left out."""
        tests = []
        lines = [line for line in lines if not line.startswith("  except")]
        for line in self.rng.sample(lines, min(2, len(lines))):
            name, _, values = line.strip().partition(" = ")
            value = self.rng.choice(values.split(", "))
            dim = next((g[1] for g in self.givens if g[0] == name), None)
            tests.append({"row": f"{name} is {value}", "yesno": name if value == "yes" else f"not {name}"}.get(dim, f"{name} >= {value}"))
        tests.append(self.e.condition(place, 1).at(2))
        return " and ".join(tests[:self.rng.randint(2, 3)])

    def trim(self):
        index = self.rng.randrange(len(self.maps))
        return self.statement(self.maps[index], self.maps[:index])

    # --- the files

    def texts(self):
        """Declarations in any order; rules, limits and variants in theirs."""
        out = list(self.ordered)
        for d in self.declarations:
            out.insert(self.rng.randint(0, len(out)), d)
        uses = self.modules + [f'"{name}"' for name in self.files if name.endswith(".fettle")]
        head = f"use {', '.join(uses)}\n\n" if uses else ""
        files = dict(self.files)
        files["tune.fettle"] = head + "\n\n".join(out) + "\n"
        return files


def write(folder, files):
    os.makedirs(folder, exist_ok=True)
    for name, text in files.items():
        with open(os.path.join(folder, name), "w", encoding="utf-8") as file:
            file.write(text)


def checks(generator, files):
    """Expected values for some cells of some tunes, told in several ways; every third is wrong."""
    rng, out = generator.rng, []
    with tempfile.TemporaryDirectory() as folder:
        write(folder, files)
        result = expected(folder)
    tunes = [t for t in result.get("tunes", []) if "error" not in t and not any(isinstance(m, str) for m in t["maps"].values())]
    for k in range(rng.randint(1, 3) if tunes else 0):
        tune = rng.choice(tunes)
        lines = []
        for m in rng.sample(generator.maps, min(len(generator.maps), rng.randint(1, 3))):
            axes = result["axes"][m.name]
            at = [rng.randrange(len(points)) for points in axes]
            value = tune["maps"][m.name][at[0] if len(at) == 2 else 0][at[-1]]
            if abs(value) < 1e-3:
                continue
            wrong = rng.random() < 0.3
            told, tolerance = rng.choice([(f"{value:.9g}", ""), (f"{value * 1.004:.6g}", " +- 1 %"), (f"{value + 0.003:.9g}", " +- 0.005")])
            if wrong:
                told = f"{value * 1.03 + 1:.6g}"
            if "e" not in told:
                point = ", ".join(f"{points[i]:.12g}{rng.choice(['', written_unit(generator.axes[a][0].unit)])}" for a, points, i in zip(m.axes, axes, at))
                lines.append(f"  {m.name}({point}) == {told}{rng.choice(['', written_unit(m.unit)])}{tolerance}")
        name = tune["name"] if rng.random() < 0.7 or "/" not in tune["name"] else tune["name"].split("/")[0] + "/*"
        if lines:
            out.append(f'check "expected {k}" with {name} {{\n' + "\n".join(lines) + "\n}\n")
    return "\n".join(out)


def workspace(seed):
    generator = Generator(seed)
    files = generator.texts()
    files["tune.fettle"] += "\n" + checks(generator, files)
    return files


if __name__ == "__main__":
    sys.setrecursionlimit(10000)
    out, start, number = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
    for seed in range(start, start + number):
        write(os.path.join(out, f"{seed:04d}"), workspace(seed))

"""Maps and catalogues of random workspaces, for generate.py."""

from fractions import Fraction
from generate_expr import DIMS, Thing, digits, in_unit

AXES = [("throttle", "ratio", "%", 0, 100), ("rpm", "speed", "rpm", 1000, 14000), ("turns", "speed", "rev/s", 10, 240),
        ("coolant", "temp", "degC", -30, 120), ("charge", "temp", "degF", -20, 250), ("skin", "temp", "K", 240, 420),
        ("boost", "pressure", "kPa", 20, 300), ("manifold", "pressure", "psi", 2, 50), ("load", "ratio", "", 0, 2)]
MAPS = [("fuel", "mass", "mg"), ("spill", "mass", "g"), ("spark", "angle", "deg"), ("phase", "angle", "rev"), ("lambda_goal", "ratio", ""),
        ("duty", "ratio", "%"), ("opening", "time", "ms"), ("warm", "temp", "degF"), ("cool", "temp", "degC"), ("skin_goal", "temp", "K"),
        ("rail", "pressure", "kPa"), ("wastegate", "pressure", "psi"), ("cut", "speed", "rpm")]


class Tables:
    """The part of the generator that makes catalogues and maps, in place or in files, and derived maps."""

    def catalogs(self):
        rng = self.rng
        for name, given, rows in (("fuels", "blend", ["local91", "pump98", "race102"]), ("pipes", "pipe", ["stock", "long", "short"]))[:rng.randint(1, 2)]:
            columns = [("stoich", "ratio", ""), ("density", None, "kg/m^3"), ("tuned", "speed", "rpm"), ("warmth", "temp", rng.choice(["degC", "degF"])),
                       ("share_of", "ratio", "%"), ("leaded", "yesno", ""), ("note", "text", "text")]
            columns = columns[:1] + rng.sample(columns[1:], rng.randint(1, 4))
            lines = [["name"] + [c + (bracket(u) if u else "") for c, _, u in columns]]
            for row in rows:
                lines.append([row] + [self.catalog_cell(dim, unit) for _, dim, unit in columns])
            if self.yes(0.3):
                self.files[name + ".csv"] = "\n".join(",".join(line) for line in lines) + "\n"
                text = f'catalog {name} from "{name}.csv"'
            else:
                text = f"catalog {name} {{\n" + "\n".join("  " + " | ".join(line) for line in lines) + "\n}"
            if self.yes(0.3):
                self.files[name + ".fettle"] = text + "\n"
            else:
                self.declare(text)
            self.declare(f"given {given} from {name} = {rng.choice(rows)}")
            self.givens.append((given, "row", rows))
            self.rows.append((given, rows))
            for column, dim, unit in columns:
                if dim == "yesno":
                    self.switches.append(f"{given}.{column}")
                elif dim in DIMS:
                    self.things.append(Thing(f"{given}.{column}", "column", dim, unit))
                    self.things.append(Thing(f"{name}.{rng.choice(rows)}.{column}", "column", dim, unit))

    def catalog_cell(self, dim, unit):
        if dim == "yesno":
            return self.rng.choice(["yes", "no"])
        if dim == "text":
            return self.rng.choice(["a note", "nothing", "see the book"])
        if dim is None:
            return digits(self.rng, self.rng.uniform(700, 800))
        return digits(self.rng, in_unit(dim, self.e.usual(dim), unit))

    def breakpoints(self, axis):
        thing, low, high = self.axes[axis]
        count = self.rng.randint(2, 6)
        steps = 40 if high - low > 3 else 20
        chosen = sorted(self.rng.sample(range(steps + 1), count))
        return [Fraction(low) + Fraction(high - low) * k / steps for k in chosen]

    def map(self, name, dim, unit):
        rng, axes = self.rng, self.rng.sample(sorted(self.axes), self.rng.choice([1, 2, 2]))
        head = f"map {name}{bracket(unit)}" + (" to 0.01" if self.yes(0.1) else "")
        with_grids = [m for m in self.maps]
        if with_grids and self.yes(0.35):
            other = rng.choice(with_grids)
            body = self.e.number(dim, self.place(other.axes, self.maps), 3).text
            if self.yes(0.1):
                body = self.e.bare(dim, unit).text
            self.points[name] = self.points[other.name]
            self.maps.append(Thing(name, "map", dim, unit, other.axes))
            self.declare(f"{head} like {other.name} = {body}")
            return
        points = [self.breakpoints(a) for a in axes]
        self.points[name] = points
        rows = [self.cells(dim, unit, len(points[-1])) for _ in range(len(points[0]) if len(axes) == 2 else 1)]
        blanks = rng.choice([0, 0, 0.1, 0.3, 0.6])
        rows = [[None if self.yes(blanks) else cell for cell in row] for row in rows]
        for row in rows:
            if all(cell is None for cell in row):
                row[rng.randrange(len(row))] = self.cells(dim, unit, 1)[0]
        self.maps.append(Thing(name, "map", dim, unit, tuple(axes)))
        if self.yes(0.2):
            self.csv_map(head, name, axes, points, rows)
            return
        labels = [decimal(x) for x in points[0]] if len(axes) == 2 else [""]
        lines = [" \\ ".join(axes) + " | " + " ".join(decimal(x) for x in points[-1])]
        lines += [label + " | " + " ".join(cell or "_" for cell in row) for label, row in zip(labels, rows)]
        self.declare(f"{head} {{\n" + "\n".join("  " + line for line in lines) + "\n}")

    def csv_map(self, head, name, axes, points, rows):
        """A grid in a file, an axis perhaps told in another unit than the axis has."""
        names, shown = [], []
        for axis, values in zip(axes, points):
            unit = self.axes[axis][0].unit
            if unit == "rpm" and self.yes(0.5):
                names.append(f"{axis} [rev/s]")
                shown.append([digits(self.rng, x / 60, 5) for x in values])
            elif unit == "kPa" and self.yes(0.5):
                names.append(f"{axis} [bar]")
                shown.append([decimal(x / 100) for x in values])
            else:
                names.append(axis + (bracket(unit) if self.yes(0.5) else ""))
                shown.append([decimal(x) for x in values])
        labels = shown[0] if len(axes) == 2 else [""]
        lines = [[" \\ ".join(names)] + shown[-1]] + [[label] + [cell or "" for cell in row] for label, row in zip(labels, rows)]
        self.files[name + ".csv"] = "\n".join(",".join(line) for line in lines) + "\n"
        self.declare(f'{head} from "{name}.csv"')

    def cells(self, dim, unit, count):
        return [digits(self.rng, in_unit(dim, self.e.usual(dim), unit), self.rng.choice([2, 3, 4])) for _ in range(count)]


def decimal(x):
    """An exact fraction as a decimal number."""
    text = f"{float(x):.6f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def bracket(unit):
    return f" [{unit}]" if unit else ""


def written_unit(unit):
    return "" if unit == "" else " %" if unit == "%" else f" {unit}" if unit.isalpha() else f" [{unit}]"

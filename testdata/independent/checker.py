"""Names and units of every expression, checked before anything is computed (see fettle_ref.py).

Each expression node gets a type; names get `ref`, what they stand for; literals get `value`, in base units.
"""

from fractions import Fraction
from expressions import parts_of
from lexer import FUNCTIONS
from literals import BOOL, Literals, Type, named
from units import FettleError, ONE, PLAIN, ZERO, dim_div, dim_mul, dim_pow, dim_text


class Scope:
    """What an expression may see: `axes` those of its cell (None: no cell and no maps), parameters, givens."""

    def __init__(self, space, what, givens=True, axes=None, params=None):
        self.space, self.what, self.givens, self.axes, self.params = space, what, givens, axes, params or {}


class Checker(Literals):
    def __init__(self, workspace, fixed):
        self.workspace, self.fixed, self.busy = workspace, fixed, []     # fixed: the value of a fixed expression
        self.maps_used = set()      # filled while checking, emptied by who asks

    def fail(self, node, message):
        raise FettleError(message, node.where)

    # --- names

    def resolve(self, node, scope):
        """What a name stands for: ("axis"|"given"|"let"|"map"|"param"|"column"|"givencol"|"fn"|"curve", ...)."""
        parts, space = node.parts, scope.space
        if parts[0] in scope.params and len(parts) == 1:
            return ("param", scope.params[parts[0]])
        if parts[0] in space.modules and parts[0] not in space.names:
            if len(parts) == 1:
                self.fail(node, f"{parts[0]} is a module")
            space, parts = space.modules[parts[0]], parts[1:]
        d = space.names.get(parts[0])
        if d is None:
            self.fail(node, f"unknown name {'.'.join(node.parts)!r}")
        rest = parts[1:]
        if d.kind == "catalog":
            if len(rest) != 2:
                self.fail(node, f"a cell of {d.name} is {d.name}.row.column")
            if rest[0] not in d.rows:
                self.fail(node, f"{d.name} has no row {rest[0]!r}")
            return ("column", d, rest[0], self.column(node, d, rest[1]))
        if d.kind == "given" and not scope.givens:
            self.fail(node, f"{scope.what} can't see the condition {d.name}")
        if d.kind == "given" and d.type == "row" and rest:
            if len(rest) != 1:
                self.fail(node, f"unknown name {'.'.join(node.parts)!r}")
            return ("givencol", d, self.column(node, d.table, rest[0]))
        if rest:
            self.fail(node, f"{d.name} has no parts")
        if d.kind in ("axis", "map") and scope.axes is None:
            self.fail(node, f"{scope.what} can't see {d.kind} {d.name}; what depends on the cell is `over` or `where`")
        if d.kind == "axis" and d.name not in scope.axes:
            self.fail(node, f"axis {d.name} is not an axis of this cell")
        if d.kind in ("axis", "given", "let", "map", "fn", "curve"):
            return (d.kind, d)
        self.fail(node, f"{d.name} is a {d.kind} and has no value")

    def column(self, node, catalog, name):
        if name not in catalog.columns:
            self.fail(node, f"{catalog.name} has no column {name!r}")
        if catalog.columns[name] == "text":
            self.fail(node, f"column {name} is text")
        return name

    def type_of_name(self, node, scope):
        ref = node.ref = self.resolve(node, scope)
        kind, d = ref[0], ref[1]
        if kind in ("column", "givencol"):
            unit = (d if kind == "column" else d.table).columns[ref[-1]]
            return BOOL if unit == "yesno" else named(unit)
        if kind == "given":
            return {"yesno": BOOL, "row": Type("row", catalog=getattr(d, "table", None))}.get(d.type) or named(d.unit)
        if kind == "let":
            return self.let_type(d)
        if kind in ("fn", "curve"):
            self.fail(node, f"{d.name} is a function; call it")
        if kind == "map":
            missing = [axis for axis in d.shape.axes if axis not in scope.axes]
            if missing:
                self.fail(node, f"map {d.name} is over {missing[0]}, which this cell doesn't have")
            self.maps_used.add(d.name)
        return named(d.unit)

    def let_type(self, d):
        if not hasattr(d, "type"):
            scope = Scope(d.ns, f"let {d.name}", givens=True)
            d.type = self.guarded(d, lambda: self.declared_type(d, scope))
        return d.type

    def fn_type(self, d):
        if not hasattr(d, "type"):
            params = {p.name: p for p in d.params}
            if len(params) != len(d.params):
                raise FettleError("the same parameter twice", d.where)
            for p in d.params:
                self.check_range(p.within, p.unit, Scope(d.ns, "a range", givens=False))
                if p.within and self.upside_down(*p.within):
                    raise FettleError("a range whose low end is above its high end", p.where)
            scope = Scope(d.ns, f"fn {d.name}", givens=False, params=params)
            d.type = self.guarded(d, lambda: self.declared_type(d, scope))
        return d.type

    def declared_type(self, d, scope):
        """The type of a let or a function: its bracket if it has one, else what its expression is."""
        if d.unit is None:
            t = self.typed(d.expr, scope)
            if t.kind == "row":
                self.fail(d.expr, "a row of a catalogue is no value")
            if d.expr.bare:
                return named(PLAIN)
            return Type(t.kind, t.dim, t.point, None, t.catalog, t.scale)
        self.fits(d.expr, scope, d.unit)
        return named(d.unit)

    def guarded(self, d, compute):
        if d in self.busy:
            circle = " > ".join(x.name for x in self.busy[self.busy.index(d):] + [d])
            raise FettleError(f"a circle: {circle}", d.where)
        self.busy.append(d)
        result = compute()
        self.busy.pop()
        return result

    # --- what an expression has to be

    def check_range(self, bounds, unit, scope):
        for bound in bounds:
            if bound is not None:
                self.fits(bound, scope, unit)

    def upside_down(self, low, high):
        """Whether both ends are fixed, and the low one is above the high one."""
        return low is not None and high is not None and self.is_fixed(low) and self.is_fixed(high) and \
            self.fixed(low) > self.fixed(high)

    def is_fixed(self, node):
        ref = getattr(node, "ref", None)
        if ref is not None and (ref[0] in ("axis", "map", "given", "givencol", "param") or ref == ("builtin", "step")):
            return False
        if ref is not None and ref[0] == "let":
            return self.is_fixed(ref[1].expr)
        return node.kind != "is" and all(self.is_fixed(part) for part in parts_of(node))

    def number(self, node, scope):
        t = self.typed(node, scope)
        if t.kind != "number":
            self.fail(node, "a number is wanted here")
        return t

    def on_cell(self, node, scope):
        """A `where`: what is the same in every cell belongs in `when`."""
        self.condition(node, scope)
        if not self.sees_cell(node):
            self.fail(node, "this `where` is the same in every cell; what depends on conditions alone belongs in `when`")

    def sees_cell(self, node):
        ref = getattr(node, "ref", None)
        if ref is not None and (ref[0] in ("axis", "map") or ref == ("builtin", "step")):
            return True
        return any(self.sees_cell(part) for part in parts_of(node))

    def condition(self, node, scope):
        if self.typed(node, scope).kind != "yesno":
            self.fail(node, "a yes/no expression is wanted here")

    def typed(self, node, scope):
        node.t = getattr(self, "t_" + node.kind)(node, scope)
        return node.t

    def t_num(self, node, scope):
        if node.unit is None:
            return self.plain(node)
        node.value = node.unit.to_base(node.number)
        return Type(dim=node.unit.dim, point=node.unit.point, scale=node.unit.factor)

    def plain(self, node):
        node.value = node.number
        return Type()

    def t_name(self, node, scope):
        return self.type_of_name(node, scope)

    def t_neg(self, node, scope):
        t = self.number(node.a, scope)
        if t.point:
            self.fail(node, "a temperature in degC or degF can't be scaled; take the difference to another first")
        return Type(dim=t.dim, scale=t.scale)

    def t_bin(self, node, scope):
        op = node.op
        if op in "+-":
            a, b = self.pair(node, scope, True)
            if a.dim != b.dim:
                self.fail(node, f"unit mismatch: {dim_text(a.dim)} {op} {dim_text(b.dim)}")
            if op == "+" and a.point and b.point:
                self.fail(node, "two temperatures in degC or degF can't be added; write an amount in K")
            point = (a.point or b.point) if op == "+" else (a.point and not b.point)
            return Type(dim=a.dim, point=point, scale=a.scale)
        a, b = self.number(node.a, scope), self.number(node.b, scope)
        if a.point or b.point:
            self.fail(node, "a temperature in degC or degF can't be scaled; take the difference to another first")
        if op == "*":
            return Type(dim=dim_mul(a.dim, b.dim), scale=a.scale * b.scale)
        if op == "/":
            return Type(dim=dim_div(a.dim, b.dim), scale=a.scale / b.scale)
        if b.dim != ZERO:
            self.fail(node, "an exponent is a plain number")
        if a.dim == ZERO:
            return Type()
        exponent = self.literal_value(node.b)
        whole = exponent.denominator == 1 and abs(exponent) <= 12
        return Type(dim=dim_pow(a.dim, exponent), scale=a.scale ** int(exponent) if whole else ONE)

    def literal_value(self, node):
        """The exponent of a value with a dimension must be plain from the text, or its unit isn't known."""
        if node.kind == "num":
            return node.value
        if node.kind == "neg":
            return -self.literal_value(node.a)
        if node.kind == "bin" and node.op in "+-*/":
            a, b = self.literal_value(node.a), self.literal_value(node.b)
            if node.op == "/" and b == 0:
                self.fail(node, "division by zero")
            return {"+": lambda: a + b, "-": lambda: a - b, "*": lambda: a * b, "/": lambda: a / b}[node.op]()
        self.fail(node, "the exponent of a value with a unit must be written as a number")

    def t_cmp(self, node, scope):
        a, b = self.pair(node, scope, False)
        if a.dim != b.dim:
            self.fail(node, f"unit mismatch: {dim_text(a.dim)} {node.op} {dim_text(b.dim)}")
        node.unit = a.named or b.named
        return BOOL

    def t_range(self, node, scope):
        self.condition(node.a, scope)
        self.condition(node.b, scope)
        return BOOL

    t_and = t_or = t_range

    def t_not(self, node, scope):
        self.condition(node.a, scope)
        return BOOL

    def t_is(self, node, scope):
        t = self.typed(node.a, scope)
        if t.kind != "row":
            self.fail(node, "`is` compares a condition that is a row of a catalogue")
        if node.row not in t.catalog.rows:
            self.fail(node, f"{t.catalog.name} has no row {node.row!r}")
        return BOOL

    def t_if(self, node, scope):
        self.condition(node.cond, scope)
        if not node.yes.bare and not node.no.bare and self.typed(node.yes, scope).kind == "yesno":
            self.condition(node.no, scope)
            return BOOL
        return self.together(node, [node.yes, node.no], scope)

    # --- calls

    def t_call(self, node, scope):
        name = node.parts[0]
        if len(node.parts) == 1 and name in FUNCTIONS:
            node.ref = ("builtin", name)
            return self.builtin(node, name, scope)
        ref = node.ref = self.resolve(node, scope)
        d = ref[1]
        if ref[0] == "fn":
            wanted = [p.unit for p in d.params]
        elif ref[0] == "curve":
            wanted = [d.over]
        elif ref[0] == "map":
            self.maps_used.add(d.name)
            wanted = [self.workspace.space.names[axis].unit for axis in d.shape.axes]
        else:
            self.fail(node, f"{name} is not a function")
        if len(node.args) != len(wanted):
            self.fail(node, f"{d.name} takes {len(wanted)} values, not {len(node.args)}")
        for argument, unit in zip(node.args, wanted):
            self.fits(argument, scope, unit)
        if ref[0] == "map":
            return named(d.unit)
        t = named(d.unit) if ref[0] == "curve" else self.fn_type(d)
        return Type(t.kind, t.dim, t.point, scale=t.scale)

    def builtin(self, node, name, scope):
        counts = {"clamp": 3, "step": 2, "min": None, "max": None}
        count = counts.get(name, 1)
        if (count is None and len(node.args) < 2) or (count is not None and len(node.args) != count):
            self.fail(node, f"{name} takes {'two or more' if count is None else count} values")
        if name == "step":
            return self.step(node, scope)
        if name in ("min", "max", "clamp"):
            t = self.together(node, node.args, scope)
            if name == "clamp" and self.upside_down(node.args[1], node.args[2]):
                self.fail(node, "clamp with its low end above its high end")
            return t
        t = self.number(node.args[0], scope)
        if name in ("abs", "sqrt") and t.point:
            self.fail(node, f"{name} of a temperature in degC or degF")
        if name == "abs":
            return Type(dim=t.dim, scale=t.scale)
        if name == "sqrt":
            return Type(dim=dim_pow(t.dim, Fraction(1, 2)))
        if t.dim != ZERO:
            self.fail(node, f"{name} takes a plain number, not {dim_text(t.dim)}")
        return Type()

    def step(self, node, scope):
        which, along = node.args
        if any(arg.kind != "name" or len(arg.parts) != 1 for arg in node.args):
            self.fail(node, "step takes the name of a map and of an axis")
        t = self.number(which, scope)
        self.number(along, scope)
        if which.ref[0] != "map" or along.ref[0] != "axis":
            self.fail(node, "step takes the name of a map and of an axis")
        if along.ref[1].name not in which.ref[1].shape.axes:
            self.fail(node, f"{which.parts[0]} is not over {along.parts[0]}")
        return Type(dim=t.dim, scale=t.scale)

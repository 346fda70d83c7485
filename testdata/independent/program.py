"""A whole workspace, checked: axes, conditions, maps, rules, limits, and the circles among maps (see fettle_ref.py)."""

from checker import Checker, Scope
from evaluate import Env, Tune, ev, TuneFailure
from literals import is_loose
from units import FettleError, ZERO
from workspace import Workspace


class Program:
    def __init__(self, folder, stdlib):
        self.workspace = w = Workspace(folder, stdlib)
        self.constants = Tune(self, None)       # computes what may not depend on conditions
        self.checker = Checker(w, self.fixed)
        self.rules, self.limits = w.of_kind("rule"), w.of_kind("limit")
        self.regions = {d.name: d for d in w.of_kind("region")}
        self.givens = {d.name: d for d in w.of_kind("given")}
        self.axes = {d.name: d for d in w.of_kind("axis")}
        self.maps = {}
        self.needs = {}                         # map: the maps that it reads, by the text
        for d in self.givens.values():
            self.bind_given(d)
        for d in self.axes.values():
            self.read_axis(d)
        self.maps = w.build_maps({name: (d.unit, d.min, d.max) for name, d in self.axes.items()})
        self.needs = {name: set() for name in self.maps}
        for space in [w.space] + [m for m in w.loaded_modules.values()]:
            for d in space.names.values():
                if d.kind == "fn":
                    self.checker.fn_type(d)
                elif d.kind == "let":
                    self.checker.let_type(d)
        for d in self.givens.values():
            self.read_given(d)
        for d in self.maps.values():
            if d.source == "like":
                scope = self.cell_scope(d, "a map's formula")
                self.collect(d, lambda: self.checker.fits(d.expr, scope, d.unit), own=False)
        for d in self.regions.values():
            for part in d.items:
                self.check_part(part)
        for rule in self.rules:
            self.check_rule(rule)
        for limit in self.limits:
            self.check_limit(limit)
        self.check_reviews(w.of_kind("review"))

    # --- constants

    def fixed(self, node):
        try:
            return ev(node, Env(self.constants))
        except TuneFailure as failure:
            raise FettleError(str(failure), node.where)

    def constant(self, node, unit, what):
        """A number that no condition changes, in base units."""
        self.checker.fits(node, Scope(self.workspace.space, what), unit)
        return self.fixed(node)

    def bounds(self, pair, unit, what, where):
        low, high = (None if b is None else self.constant(b, unit, what) for b in pair)
        if low is not None and high is not None and low > high:
            raise FettleError("a range whose low end is above its high end", where)
        return low, high

    def read_axis(self, d):
        d.min, d.max = self.bounds((d.low, d.high), d.unit, "an axis's range", d.where)

    def bind_given(self, d):
        if d.type != "row":
            return
        space = self.workspace.space
        for module in d.catalog[:-1]:
            if module not in space.modules:
                raise FettleError(f"no module {module!r}", d.where)
            space = space.modules[module]
        table = space.names.get(d.catalog[-1])
        if table is None or table.kind != "catalog":
            raise FettleError(f"{d.catalog[-1]!r} is not a catalogue", d.where)
        d.table = table
        if d.default not in table.rows:
            raise FettleError(f"{table.name} has no row {d.default!r}", d.where)

    def read_given(self, d):
        if d.type != "number":
            d.value = d.default
            return
        d.min, d.max = self.bounds(d.within, d.unit, "a given's range", d.where)
        d.value = self.constant(d.default, d.unit, "a given's default")
        self.check_within(d, d.value, d.where)

    def check_within(self, d, value, where):
        if (d.min is not None and value < d.min) or (d.max is not None and value > d.max):
            raise FettleError(f"{d.name} = {float(d.unit.from_base(value))!r} {d.unit.text} lies outside its range", where)

    # --- cells

    def cell_scope(self, d, what):
        return Scope(self.workspace.space, what, axes=d.shape.axes)

    def collect(self, d, check, own=True):
        """Runs a check and records which maps the text reads. Its own map counts only in its base."""
        self.checker.maps_used = set()
        check()
        self.needs[d.name] |= self.checker.maps_used - ({d.name} if own else set())

    def check_part(self, part, axes=None):
        scope = Scope(self.workspace.space, "a region")
        if part.region is not None:
            if part.region not in self.regions:
                raise FettleError(f"{part.region!r} is not a region", part.where)
            for inner in self.regions[part.region].items:
                if inner.region is not None:
                    raise FettleError("a region is made of ranges of axes", inner.where)
                self.check_part(inner, axes)
            return
        if part.axis not in self.axes:
            raise FettleError(f"{part.axis!r} is not an axis", part.where)
        if axes is not None and part.axis not in axes:
            raise FettleError(f"the map is not over {part.axis}", part.where)
        unit = self.axes[part.axis].unit
        self.checker.check_range((part.low, part.high), unit, scope)
        if self.checker.upside_down(part.low, part.high):
            raise FettleError("a range whose low end is above its high end", part.where)
        if part.feather is not None:
            t = self.checker.fits(part.feather, scope, unit.difference)
            if t.point:
                raise FettleError("a feather on a temperature is in K", part.where)
            if self.checker.is_fixed(part.feather) and self.checker.fixed(part.feather) < 0:
                raise FettleError("a feather below zero", part.where)

    def check_adjustment(self, s):
        if s.map not in self.maps:
            raise FettleError(f"{s.map!r} is not a map", s.where)
        d = self.maps[s.map]
        for part in s.over:
            self.check_part(part, d.shape.axes)
        scope = self.cell_scope(d, "an adjustment")
        s.relative = False
        self.collect(d, lambda: self.check_amount(s, d, scope))
        if s.cell_where is not None:
            self.collect(d, lambda: self.checker.on_cell(s.cell_where, scope))

    def check_amount(self, s, d, scope):
        amount, unit = s.amount, d.unit
        if s.op == "=":
            self.checker.fits(amount, scope, unit)
            return
        if s.op in ("*=", "/="):
            if unit.point:
                raise FettleError("a temperature in degC or degF can't be scaled", s.where)
            t = self.checker.number(amount, scope)
            if t.dim != ZERO:
                raise FettleError(f"unit mismatch: {s.op} takes a plain number", s.where)
            return
        if amount.bare:
            self.checker.give(amount, unit.difference)
            return
        t = self.checker.number(amount, scope)
        if t.point:
            raise FettleError("a point in degC or degF can't be added; write an amount in K", s.where)
        if unit.dim != ZERO and is_loose(amount):
            raise FettleError("numbers without a unit, worked out among themselves", s.where)
        if unit.dim == ZERO:
            if t.dim != ZERO:
                raise FettleError("unit mismatch: the map is a plain number", s.where)
            self.checker.told_in(amount, unit.is_percent)
            if amount.kind == "num" and amount.unit.is_percent and not unit.is_percent:
                raise FettleError("a percentage of a plain map is written with *=", s.where)
        elif t.dim == ZERO:
            if unit.point:
                raise FettleError("a temperature in degC or degF can't be scaled", s.where)
            s.relative = True
        elif t.dim != unit.dim:
            raise FettleError("unit mismatch between the map and the amount", s.where)

    def check_rule(self, rule):
        for name in rule.corrects:
            if name not in self.givens:
                raise FettleError(f"{name!r} is not a condition", rule.where)
        self.check_when(rule.when, "`when`")
        for statement in rule.statements:
            self.check_adjustment(statement)

    def check_reviews(self, reviews):
        """What reviews allow changes no value, but is written by the rules for an amount that is added."""
        files = [review.file for review in reviews]
        for review in reviews:
            if files.count(review.file) > 1:
                raise FettleError("two reviews in one file", review.where)
        seen = set()
        for s in [s for review in reviews for s in review.statements]:
            if s.map not in self.maps:
                raise FettleError(f"{s.map!r} is not a map", s.where)
            if s.map in seen:
                raise FettleError(f"{s.map} is allowed twice", s.where)
            seen.add(s.map)
            self.check_amount(s, self.maps[s.map], Scope(self.workspace.space, "a review", givens=False))
            if self.fixed(s.amount) < 0:
                raise FettleError("less than nothing is allowed", s.where)

    def check_when(self, node, what):
        if node is not None:
            self.checker.condition(node, Scope(self.workspace.space, what))

    # --- limits

    def check_limit(self, limit):
        self.check_when(limit.when, "`when`")
        self.check_extents(limit)
        if limit.mode == "clamp":
            self.check_clamp(limit)
        limit.axes = self.axes_of_named_maps([limit.cond, limit.cell_where])
        if limit.mode == "clamp":
            limit.axes = self.maps[limit.clamps].shape.axes
        if len(limit.axes) > 2:
            raise FettleError("a limit over more than two axes", limit.where)
        scope = Scope(self.workspace.space, "a limit", axes=limit.axes)
        self.checker.maps_used = set()
        self.checker.condition(limit.cond, scope)
        if not self.checker.maps_used:
            raise FettleError("a limit bounds the cells of a map, and this names none", limit.where)
        if limit.cond.kind == "range":
            ends = [limit.cond.a.a, limit.cond.b.b]
            if self.checker.upside_down(*(ends if limit.cond.a.op[0] == "<" else reversed(ends))):
                raise FettleError("a range whose low end is above its high end", limit.where)
        if limit.cell_where is not None:
            self.checker.on_cell(limit.cell_where, scope)
        limit.maps = [name for name in self.maps if name in self.checker.maps_used]

    def check_extents(self, limit):
        """What it is proved over. Whether it holds there isn't worked out here: a limit is judged in a tune's own conditions."""
        if limit.extents and limit.mode == "clamp":
            raise FettleError("a clamp holds everywhere, and there is nothing to prove", limit.where)
        names = [name for _, name, _, _ in limit.extents]
        for where, name, low, high in limit.extents:
            given = self.givens.get(name)
            if given is None or given.type != "number" or names.count(name) > 1:
                raise FettleError(f"`for` takes quantities among the givens, each once, and not {name!r}", where)
            ends = self.bounds((low, high), given.unit, "a range to prove over", where)
            for end in ends:
                self.check_within(given, end, where)

    def axes_of_named_maps(self, nodes):
        names = set()
        for node in nodes:
            names |= names_in(node)
        axes = []
        for name, d in self.maps.items():
            if name in names:
                axes += [axis for axis in d.shape.axes if axis not in axes]
        return axes

    def check_clamp(self, limit):
        """`MAP <= bound`, `MAP >= bound` or a range around MAP; limit.bounds is [("upper"|"lower", expression)]."""
        cond = limit.cond
        parts = comparisons(cond)
        limit.bounds, limit.clamps = [], None
        bare = lambda n: n.kind == "name" and len(n.parts) == 1 and n.parts[0] in self.maps
        sides = [[n.parts[0] for n in (part.a, part.b) if bare(n)] for part in parts if part.kind == "cmp"]
        common = [name for name in sides[0] if all(name in s for s in sides)] if sides else []
        subject = common[0] if common else None     # the middle of a range, else the left side
        for part in parts:
            if part.kind != "cmp" or part.op in ("==", "!="):
                raise FettleError("`else clamp` needs <= or >= beside one map", limit.where)
            left, right = bare(part.a), bare(part.b)
            if left and right and subject is not None:
                left, right = part.a.parts[0] == subject, part.b.parts[0] == subject
            if left == right:
                raise FettleError("`else clamp` bounds one bare map", limit.where)
            node, bound = (part.a, part.b) if left else (part.b, part.a)
            if limit.clamps not in (None, node.parts[0]):
                raise FettleError("`else clamp` bounds one bare map", limit.where)
            limit.clamps = node.parts[0]
            side = "upper" if (part.op[0] == "<") == left else "lower"
            if side in (have for have, _ in limit.bounds):
                raise FettleError(f"two {side} bounds of one map", limit.where)
            limit.bounds.append((side, bound))
        limit.bounds.sort(key=lambda b: b[0], reverse=True)     # upper, then lower; where they contradict each other the limit fails
        d = self.maps[limit.clamps]
        scope = self.cell_scope(d, "a clamp")
        self.collect(d, lambda: self.checker.condition(cond, scope))
        for _, bound in limit.bounds:
            if d.name in names_in(bound):
                self.needs[d.name].add(d.name)      # a bound made from what it bounds is a circle
        if limit.cell_where is not None:
            self.collect(d, lambda: self.checker.on_cell(limit.cell_where, scope))

    # --- circles

    def check_circles(self):
        done, path = set(), []

        def visit(name):
            if name in path:
                circle = " > ".join(path[path.index(name):] + [name])
                raise FettleError(f"maps in a circle: {circle}", self.maps[name].where)
            if name not in done:
                path.append(name)
                for other in sorted(self.needs[name]):
                    visit(other)
                path.pop()
                done.add(name)

        for name in self.maps:
            visit(name)


def comparisons(cond):
    """The comparisons of a condition that asks for all of them; a range is two."""
    return comparisons(cond.a) + comparisons(cond.b) if cond.kind in ("range", "and") else [cond]


def names_in(node):
    """Every name that stands in an expression."""
    if node is None:
        return set()
    found = set()
    for field, value in vars(node).items():
        if field == "parts":
            found.add(value[0])
        elif hasattr(value, "kind") and hasattr(value, "where") and field in ("a", "b", "cond", "yes", "no"):
            found |= names_in(value)
        elif field == "args":
            for argument in value:
                found |= names_in(argument)
    return found

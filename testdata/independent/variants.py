"""Variants and matrices to tunes (see fettle_ref.py)."""

import itertools
from decimal import Decimal
from evaluate import Env, Tune, TuneFailure, as_float, ev
from units import FettleError


class Variants:
    def __init__(self, program):
        self.program = program
        self.declared = {d.name: d for d in program.workspace.of_kind("variant", "variants")}
        self.resolved, self.busy = {}, []
        self.excluded = {}          # matrix: names of the members left out
        self.tunes = {}             # name: Tune, in the order written
        for d in self.declared.values():
            self.check(d)
        for d in self.declared.values():
            for name, (conditions, trims) in self.members(d.name).items():
                self.tunes[name] = Tune(program, conditions, trims, name)

    def check(self, d):
        d.sets, d.excepts, d.trims = {}, [], []
        for line in d.statements:
            if line.kind == "trim":
                self.program.check_adjustment(line.adjust)
                d.trims.append(line.adjust)
            elif line.kind == "except":
                if d.kind == "variant":
                    raise FettleError("`except` belongs to `variants`", line.where)
                self.program.check_when(line.cond, "`except`")
                d.excepts.append(line.cond)
            else:
                given = self.program.givens.get(line.given)
                if given is None:
                    raise FettleError(f"{line.given!r} is not a condition", line.where)
                if line.given in d.sets:
                    raise FettleError(f"{line.given} is set twice", line.where)
                if d.kind == "variant" and len(line.values) > 1:
                    raise FettleError("a variant has one value for each condition; a list belongs in `variants`", line.where)
                values = [self.value(given, v) for v in line.values]
                if len(set(values)) < len(values):
                    raise FettleError(f"{line.given}: the same value twice", line.where)
                d.sets[line.given] = [(self.value(given, v), self.label(given, v)) for v in line.values]

    def value(self, given, written):
        e = written.expr
        if given.type == "yesno":
            if e.kind != "yesno":
                raise FettleError(f"{given.name} is yes or no", written.where)
            return e.value
        if given.type == "row":
            if e.kind != "name" or len(e.parts) != 1 or e.parts[0] not in given.table.rows:
                raise FettleError(f"{given.table.name} has no row {written.text!r}", written.where)
            return e.parts[0]
        if e.kind == "yesno":
            raise FettleError(f"{given.name} is a quantity", written.where)
        value = self.program.constant(e, given.unit, "a variant's value")
        self.program.check_within(given, value, written.where)
        return value

    def label(self, given, written):
        """A value as it stands in a member's name."""
        e = written.expr
        if given.type == "yesno":
            return given.name if e.value else "no_" + given.name
        text = written.text
        if text.startswith("("):
            text = f"{Decimal(repr(as_float(given.unit.from_base(self.value(given, written))))).normalize():f}" + given.unit.text
        elif given.type == "number" and e.kind == "num" and e.unit is None:
            text += given.unit.text
        for mark, word in (("-", "minus"), ("%", "pct"), ("/", "per"), ("+", ""), ("*", ""), (" ", ""), ("[", ""), ("]", ""), ("(", ""), (")", "")):
            text = text.replace(mark, word)
        return text

    def members(self, name):
        """{full name: (conditions, trims)} of a variant (one) or a matrix (those not excepted)."""
        if name in self.resolved:
            return self.resolved[name]
        d = self.declared[name]
        if name in self.busy:
            raise FettleError("variants in a circle: " + " > ".join(self.busy + [name]), d.where)
        self.busy.append(name)
        conditions = {g.name: g.value for g in self.program.givens.values()}
        trims = []
        if d.base is not None:
            conditions, trims = self.base(d)
        trims = trims + d.trims
        result = {}
        if d.kind == "variant":
            conditions = dict(conditions, **{given: values[0][0] for given, values in d.sets.items()})
            result[name] = (conditions, trims)
        else:
            self.excluded[name] = []
            for choice in itertools.product(*d.sets.values()):
                own = dict(conditions, **{given: value for given, (value, _) in zip(d.sets, choice)})
                full = name + "/" + "-".join(label for _, label in choice)
                if full in result or full in self.excluded[name]:
                    raise FettleError(f"two members are called {full}", d.where)
                if self.excepted(d, own):
                    self.excluded[name].append(full)
                else:
                    result[full] = (own, trims)
            if not d.sets or not result:
                raise FettleError(f"nothing is left of {name}", d.where)
        self.busy.pop()
        self.resolved[name] = result
        return result

    def excepted(self, d, conditions):
        env = Env(Tune(self.program, conditions))
        try:
            return any(ev(condition, env) for condition in d.excepts)
        except TuneFailure as failure:
            raise FettleError(str(failure), d.where)

    def base(self, d):
        head = d.base.split("/")[0]
        if head not in self.declared:
            raise FettleError(f"no variant {d.base!r}", d.where)
        members = self.members(head)
        if d.base not in members:
            left_out = d.base in self.excluded.get(head, [])
            raise FettleError(f"{d.base!r} is {'left out by except' if left_out else 'not a variant'}", d.where)
        conditions, trims = members[d.base]
        return dict(conditions), list(trims)

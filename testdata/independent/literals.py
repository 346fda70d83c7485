"""Literals without a unit, and the types of expressions (see fettle_ref.py).

Such a literal takes the unit of what stands opposite if that is a name with a declared unit, or a look-up of a map.
Opposite an expression it is an error, but for a plain number opposite a plain number. What is told in % is a number too,
and a hundred times as large: nothing without a unit may stand opposite it unless it is clear which is meant.
"""

from expressions import parts_of
from lexer import FUNCTIONS
from units import ONE, PERCENT, ZERO, dim_text


class Type:
    """`named` is the declared unit when the expression is a bare name (or look-up); `catalog` that of a row.

    `scale` is the size of the unit that the value is told in, as of mg/g; it only tells what is told in %.
    """

    def __init__(self, kind="number", dim=ZERO, point=False, named=None, catalog=None, scale=ONE):
        self.kind, self.dim, self.point, self.named, self.catalog, self.scale = kind, dim, point, named, catalog, scale

    @property
    def in_percent(self):
        return self.dim == ZERO and self.scale == PERCENT.factor


BOOL = Type("yesno")
NO_UNIT = "write the literal's unit: opposite stands an expression in "


def named(unit):
    return Type(dim=unit.dim, point=unit.point, named=unit, scale=unit.factor)


def is_step(node):
    return getattr(node, "ref", None) == ("builtin", "step")


def is_loose(node):
    """Numbers without a unit and nothing else."""
    if node.kind == "num":
        return node.unit is None
    if node.kind == "call" and node.parts[0] not in FUNCTIONS:
        return False
    parts = [part for part in parts_of(node) if part is not getattr(node, "cond", None)]
    return node.kind in ("neg", "bin", "if", "call") and bool(parts) and all(is_loose(part) for part in parts)


def is_told(node):
    """Loose, and each of its numbers would by itself take the unit opposite: not a product of them."""
    if node.kind == "bin":
        return node.op in "+-" and is_loose(node)
    if node.kind == "neg":
        return is_told(node.a)
    return is_loose(node) and (node.kind == "if" or (node.kind == "call" and node.parts[0] in ("min", "max", "clamp", "abs")))


class Literals:
    """The part of the checker that is about them."""

    def give(self, node, unit):
        """A bare literal takes a unit."""
        node.value = unit.to_base(node.number)
        return named(unit)

    def fits(self, node, scope, unit):
        """The expression where a value of this unit is wanted; a bare literal takes the unit."""
        if node.bare:
            return self.give(node, unit)
        t = self.number(node, scope)
        self.told_in(node, unit.is_percent)
        if t.dim != unit.dim:
            self.fail(node, f"unit mismatch: {dim_text(t.dim)} where {unit.text or 'a plain number'} is wanted")
        return t

    def told(self, node, other_type, other):
        if not is_loose(other):
            self.told_in(node, other_type.in_percent)

    def told_in(self, node, percent):
        if percent and not node.bare and is_told(node):
            self.fail(node, "numbers without a unit where a value in % stands opposite")

    def may_be_plain(self, literal, t, additive):
        if t.dim != ZERO or (not additive and t.in_percent and literal.number != 0):
            self.fail(literal, NO_UNIT + ("%" if t.in_percent else dim_text(t.dim)))

    def pair(self, node, scope, additive):
        """Two operands that stand opposite each other."""
        a, b = node.a, node.b
        if a.bare == b.bare or (is_loose(a) and is_loose(b)):
            ta, tb = self.number(a, scope), self.number(b, scope)
            self.told(a, tb, b)
            self.told(b, ta, a)
            return ta, tb
        literal, other = (a, b) if a.bare else (b, a)
        t = self.number(other, scope)
        if t.named is not None:
            if additive and t.named.is_percent and literal.number != 0:
                self.fail(literal, "opposite a value in % write the literal's unit: % or a fraction")
            lt = self.give(literal, t.named)
        else:
            # A sum of a number and a ratio that was worked out is a ratio: `1 + 3 %`.
            self.may_be_plain(literal, t, additive and not is_step(other))
            lt = self.plain(literal)
        return (lt, t) if literal is a else (t, lt)

    def together(self, node, operands, scope):
        """Operands of min, max, clamp and `if`: one dimension; a bare literal takes a named one's unit."""
        types = {}
        unit, first = None, None
        for operand in operands:
            if not operand.bare:
                t = types[operand] = self.number(operand, scope)
                if not is_loose(operand):
                    first = first or t
                    unit = unit or t.named
        for operand in operands:
            if operand.bare:
                if unit is not None:
                    types[operand] = self.give(operand, unit)
                else:
                    if first is not None:
                        self.may_be_plain(operand, first, False)
                    types[operand] = self.plain(operand)
        if len({t.dim for t in types.values()}) > 1:
            self.fail(node, "unit mismatch between the values")
        for operand in operands:
            for other in operands:
                self.told(operand, types[other], other)
        return Type(dim=first.dim if first else ZERO, point=any(t.point for t in types.values()), scale=types[operands[0]].scale)

"""Expressions: tokens to a tree (see fettle_ref.py).

Tightest first: `^` (to the right), unary minus, `* /`, `+ -`, comparisons and `is`, `not`, `and`, `or`, `if`.
"""

import sys
from fractions import Fraction
from lexer import KEYWORDS
from units import FettleError, UNITS, ONLY_IN_BRACKETS, parse_unit

COMPARISONS = ("<", "<=", ">", ">=", "==", "!=")


MOST = Fraction(sys.float_info.max)


class Node:
    """One part of a tree; `kind` says what, the other fields depend on it."""

    def __init__(self, kind, where, **fields):
        self.kind, self.where = kind, where
        self.__dict__.update(fields)

    @property
    def bare(self):
        """A literal without a unit: it takes the unit of what stands opposite."""
        return self.kind == "num" and self.unit is None


def parts_of(node):
    """The expressions that an expression is made of."""
    return [value for field, value in vars(node).items() if field in ("a", "b", "cond", "yes", "no")] + getattr(node, "args", [])


class TokenReader:
    def __init__(self, tokens, filename):
        self.tokens, self.filename, self.place = tokens, filename, 0

    @property
    def token(self):
        return self.tokens[self.place]

    def ahead(self, count=1):
        return self.tokens[min(self.place + count, len(self.tokens) - 1)]

    @property
    def where(self):
        return f"{self.filename}:{self.token.line}"

    def fail(self, message):
        raise FettleError(message, self.where)

    def unexpected(self, wanted):
        shown = "the end of the line" if self.token.kind in ("NL", "EOF") else repr(self.token.text)
        self.fail(f"expected {wanted}, found {shown}")

    def take(self):
        self.place += 1
        return self.tokens[self.place - 1]

    def is_op(self, *texts):
        return self.token.kind == "OP" and self.token.text in texts

    def is_word(self, *texts):
        return self.token.kind == "ID" and self.token.text in texts

    def accept_op(self, *texts):
        return self.take() if self.is_op(*texts) else None

    def accept_word(self, *texts):
        return self.take() if self.is_word(*texts) else None

    def expect_op(self, text):
        return self.accept_op(text) or self.unexpected(repr(text))

    def expect_word(self, text):
        return self.accept_word(text) or self.unexpected(repr(text))

    def skip_lines(self):
        while self.token.kind == "NL":
            self.take()

    def end_of_statement(self):
        """One statement a line; a closing brace ends one too."""
        if self.token.kind == "NL":
            self.skip_lines()
        elif not self.is_op("}") and self.token.kind != "EOF":
            self.unexpected("the end of the line")

    def name(self, what="a name"):
        """A name that is being declared or pointed at: lower case, not a keyword."""
        if self.token.kind != "ID":
            self.unexpected(what)
        text = self.token.text
        if text in KEYWORDS:
            self.fail(f"{text!r} is a word of the language, not a name")
        if text != text.lower():
            self.fail(f"{text!r}: names are lower case")
        return self.take().text

    def dotted(self):
        parts = [self.name()]
        while self.is_op(".") and self.ahead().kind == "ID":
            self.take()
            parts.append(self.name())
        return parts


class ExpressionReader(TokenReader):
    range_allowed = False

    def expression(self):
        if self.is_word("if"):
            where = self.where
            self.take()
            condition = self.expression()
            self.expect_word("then")
            yes = self.expression()
            self.expect_word("else")
            no = self.expression()
            return Node("if", where, cond=condition, yes=yes, no=no)
        return self.either()

    def either(self):
        left = self.both()
        while self.is_word("or"):
            where = self.where
            self.take()
            left = Node("or", where, a=left, b=self.both())
        return left

    def both(self):
        left = self.negation()
        while self.is_word("and"):
            where = self.where
            self.take()
            left = Node("and", where, a=left, b=self.negation())
        return left

    def negation(self):
        if self.is_word("not"):
            where = self.where
            self.take()
            return Node("not", where, a=self.negation())
        return self.comparison()

    def comparison(self):
        where = self.where
        first = self.sum()
        if self.is_word("is"):
            self.take()
            if first.kind != "name":
                raise FettleError("a condition stands left of `is`", where)
            return Node("is", where, a=first, row=self.name("the name of a row"))
        operands, operators = [first], []
        while self.is_op(*COMPARISONS):
            operators.append(self.take().text)
            operands.append(self.sum())
        if not operators:
            return first
        parts = [Node("cmp", where, op=op, a=operands[i], b=operands[i + 1]) for i, op in enumerate(operators)]
        if len(parts) == 1:
            return parts[0]
        if len(parts) > 2 or not all(op[0] == operators[0][0] and op[0] in "<>" for op in operators):
            raise FettleError("a range is written LOW <= x <= HIGH", where)
        if not self.range_allowed:
            raise FettleError("two comparisons are joined by `and`; only a limit may be a range", where)
        return Node("range", where, a=parts[0], b=parts[1])

    def sum(self):
        left = self.product()
        while self.is_op("+", "-"):
            where, operator = self.where, self.take().text
            left = Node("bin", where, op=operator, a=left, b=self.product())
        return left

    def product(self):
        left = self.signed()
        while self.is_op("*", "/"):
            where, operator = self.where, self.take().text
            left = Node("bin", where, op=operator, a=left, b=self.signed())
        return left

    def signed(self):
        if self.is_op("-"):
            where = self.where
            self.take()
            inner = self.signed()
            if inner.kind == "num" and not (inner.signed and inner.unit is not None and inner.unit.point):
                return Node("num", where, number=-inner.number, unit=inner.unit, signed=True)     # -5 degC is a point
            return Node("neg", where, a=inner)
        if self.is_op("+") and self.ahead().kind == "NUM":      # a signed quantity
            self.take()
        return self.power()

    def power(self):
        base = self.primary()
        if self.is_op("^"):
            where = self.where
            self.take()
            return Node("bin", where, op="^", a=base, b=self.signed())
        return base

    def primary(self):
        where = self.where
        if self.token.kind == "NUM":
            node = self.quantity()
            if node.unit is not None and self.is_op("^"):
                self.fail("a quantity directly before ^: write the unit as [m^2], or put the quantity in ( )")
            return node
        if self.accept_op("("):
            inner = self.expression()
            self.expect_op(")")
            return inner
        if self.token.kind == "ID":
            parts = self.dotted()
            if self.is_op("("):
                self.take()
                arguments = []
                if not self.is_op(")"):
                    arguments.append(self.expression())
                    while self.accept_op(","):
                        arguments.append(self.expression())
                self.expect_op(")")
                return Node("call", where, parts=parts, args=arguments)
            return Node("name", where, parts=parts)
        self.unexpected("a value")

    def quantity(self):
        """A number and, if one follows, its unit."""
        where = self.where
        number = Fraction(self.take().text)
        if number > MOST:
            raise FettleError("a number too large to be computed with", where)
        return Node("num", where, number=number, unit=self.following_unit(), signed=False)

    def following_unit(self):
        if self.is_op("%"):
            self.take()
            return UNITS["%"]
        if self.token.kind == "UNIT":
            where = self.where
            return parse_unit(self.take().text, where)
        if self.token.kind == "ID" and self.token.text in UNITS and self.token.text not in ONLY_IN_BRACKETS \
                and not (self.ahead().kind == "OP" and self.ahead().text == "("):
            return UNITS[self.take().text]
        return None

    def signed_quantity(self):
        where = self.where
        minus = self.accept_op("-")
        if not minus:
            self.accept_op("+")
        if self.token.kind != "NUM":
            self.unexpected("a number")
        node = self.quantity()
        return Node("num", where, number=-node.number, unit=node.unit, signed=True) if minus else node

    def bound(self):
        """A signed quantity, a name, or an expression in parentheses."""
        if self.accept_op("("):
            inner = self.expression()
            self.expect_op(")")
            return inner
        if self.token.kind == "ID":
            where = self.where
            return Node("name", where, parts=self.dotted())
        return self.signed_quantity()

    def range_(self):
        """LOW..HIGH, either end open; a unit at the end serves both."""
        where = self.where
        low = None if self.is_op("..") else self.bound()
        self.expect_op("..")
        high = None
        if self.token.kind == "NUM" or self.is_op("-", "+", "(") \
                or (self.token.kind == "ID" and self.token.text not in KEYWORDS):
            high = self.bound()
        if low is not None and high is not None and low.bare and high.kind == "num":
            low.unit = high.unit
        if low is None and high is None:
            raise FettleError("a range needs at least one end", where)
        return low, high

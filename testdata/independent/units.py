"""Units of the second, independent reading of the fettle language (see fettle_ref.py).

A unit is a dimension, an exact factor to the base units and, for degC and degF, an offset.
Base units: kg, m, s, K, deg, V, mol. An angle's base is the degree so that rev and rpm stay exact.
"""

import math
import re
from fractions import Fraction

BASES = ("kg", "m", "s", "K", "deg", "V", "mol")
ZERO = (Fraction(0),) * len(BASES)


class FettleError(Exception):
    """The source is wrong: exit status 2."""

    def __init__(self, message, where=None):
        super().__init__(f"{where}: {message}" if where else message)


def dim(**powers):
    return tuple(Fraction(powers.get(base, 0)) for base in BASES)


def dim_mul(a, b):
    return tuple(x + y for x, y in zip(a, b))


def dim_div(a, b):
    return tuple(x - y for x, y in zip(a, b))


def dim_pow(a, power):
    return tuple(x * power for x in a)


def dim_text(d):
    parts = [f"{base}^{p}" if p != 1 else base for base, p in zip(BASES, d) if p]
    return "*".join(parts) or "a plain number"


class Unit:
    def __init__(self, text, dimension, factor, offset=0, point=False):
        self.text, self.dim, self.point = text, dimension, point
        self.factor, self.offset = Fraction(factor), Fraction(offset)

    def to_base(self, number):
        return number * self.factor + self.offset

    def from_base(self, value):
        return (value - self.offset) / self.factor

    @property
    def is_percent(self):
        return self.text.strip() == "%"

    @property
    def difference(self):
        """The unit of a bare amount: K on a temperature that is a point, else the unit itself."""
        return UNITS["K"] if self.point else self

    def bracket(self):
        return f" [{self.text}]" if self.text else ""


ONE = Fraction(1)
PLAIN = Unit("", ZERO, ONE)
PERCENT = Unit("%", ZERO, Fraction(1, 100))

_F = Fraction
_MASS, _LEN, _TIME = dim(kg=1), dim(m=1), dim(s=1)
_FORCE = dim(kg=1, m=1, s=-2)
_PRESSURE = dim(kg=1, m=-1, s=-2)
_ENERGY = dim(kg=1, m=2, s=-2)
_POWER = dim(kg=1, m=2, s=-3)
_LB = _F("0.45359237")            # international pound, exact
_G0 = _F("9.80665")               # standard gravity, exact
_LBF = _LB * _G0
_FT = _F("0.3048")
_MMHG = _F("13595.1") * _G0 / 1000   # conventional millimetre of mercury, 133.322387415 Pa

_TABLE = [
    ("kg", _MASS, 1), ("g", _MASS, _F(1, 1000)), ("mg", _MASS, _F(1, 10**6)), ("lb", _MASS, _LB),
    ("m", _LEN, 1), ("cm", _LEN, _F(1, 100)), ("mm", _LEN, _F(1, 1000)), ("in", _LEN, _F("0.0254")),
    ("ft", _LEN, _FT), ("km", _LEN, 1000), ("mi", _LEN, 5280 * _FT),
    ("s", _TIME, 1), ("ms", _TIME, _F(1, 1000)), ("us", _TIME, _F(1, 10**6)), ("min", _TIME, 60), ("h", _TIME, 3600),
    ("L", dim(m=3), _F(1, 1000)), ("cc", dim(m=3), _F(1, 10**6)),
    ("K", dim(K=1), 1),
    ("deg", dim(deg=1), 1), ("rev", dim(deg=1), 360), ("rad", dim(deg=1), 180 / _F(math.pi)),
    ("rpm", dim(deg=1, s=-1), 6),
    ("N", _FORCE, 1), ("Nm", _ENERGY, 1), ("lbf_ft", _ENERGY, _LBF * _FT),
    ("Pa", _PRESSURE, 1), ("kPa", _PRESSURE, 1000), ("hPa", _PRESSURE, 100), ("bar", _PRESSURE, 10**5),
    ("psi", _PRESSURE, _LBF / _F("0.0254") ** 2), ("mmHg", _PRESSURE, _MMHG), ("inHg", _PRESSURE, _MMHG * _F("25.4")),
    ("W", _POWER, 1), ("kW", _POWER, 1000), ("hp", _POWER, 550 * _LBF * _FT), ("PS", _POWER, 75 * _G0),
    ("J", _ENERGY, 1), ("kJ", _ENERGY, 1000), ("MJ", _ENERGY, 10**6),
    ("V", dim(V=1), 1), ("mol", dim(mol=1), 1), ("%", ZERO, _F(1, 100)),
]
UNITS = {text: Unit(text, d, factor) for text, d, factor in _TABLE}
UNITS["degC"] = Unit("degC", dim(K=1), 1, _F("273.15"), point=True)
UNITS["degF"] = Unit("degF", dim(K=1), _F(5, 9), _F("459.67") * 5 / 9, point=True)

ONLY_IN_BRACKETS = {"in"}


def parse_unit(text, where=None):
    """The text between brackets: units joined by * and /, powers with ^, parentheses, and 1 as in 1/s."""
    tokens = re.findall(r"[A-Za-z_]+|\d+|\S", text)
    if len(tokens) == 1 and tokens[0] in UNITS:
        return UNITS[tokens[0]]
    place = 0

    def peek():
        return tokens[place] if place < len(tokens) else None

    def take():
        nonlocal place
        place += 1
        return tokens[place - 1] if place <= len(tokens) else None

    def fail(message):
        raise FettleError(f"unit [{text}]: {message}", where)

    def atom():
        token = take()
        if token == "(":
            inner = product()
            if take() != ")":
                fail("a ) is missing")
            return inner
        unit = UNITS.get(token)
        if unit is None:
            fail(f"unknown unit {token!r}")
        if unit.point:
            fail(f"{token} is a point and can't be part of a compound unit; write K")
        return unit.dim, unit.factor

    def power():
        d, factor = atom()
        if peek() == "^":
            take()
            sign = 1
            if peek() == "-":
                take()
                sign = -1
            digits = take()
            if digits is None or not digits.isdigit():
                fail("a power is a whole number")
            exponent = sign * int(digits)
            return dim_pow(d, exponent), factor ** exponent
        return d, factor

    def product():
        if peek() == "1" and tokens[place + 1:place + 2] == ["/"]:     # as in 1/s
            take()
            d, factor = ZERO, Fraction(1)
        else:
            d, factor = power()
        divided = False
        while peek() not in (None, ")"):
            # A space multiplies, but not after a division, where it could be read two ways.
            operator = take() if peek() in ("*", "/") else "*" if not divided else fail(f"unexpected {peek()!r}")
            divided = divided or operator == "/"
            d2, factor2 = power()
            if operator == "*":
                d, factor = dim_mul(d, d2), factor * factor2
            else:
                d, factor = dim_div(d, d2), factor / factor2
        return d, factor

    if not tokens:
        fail("nothing in the brackets")
    d, factor = product()
    if peek() is not None:
        fail(f"unexpected {peek()!r}")
    return Unit(text.strip(), d, factor)

#!/usr/bin/env python3
# Golden data for rounding half to even on a number as it is written: the shortest decimal that is the float.
# Run: python3 rounding.py > rounding.csv   (Python 3.11, decimal from its standard library)
# Columns: step (empty: six significant digits), value (shortest text of the float), the rounded text.
# Decimal(repr(float)) is that decimal, and 1300 digits hold every quotient below: each step's reciprocal is a finite decimal.
import random
from decimal import Decimal, ROUND_HALF_EVEN, getcontext, Context

getcontext().prec = 1300
rnd = random.Random(20240501)


def to_step(x, step):
    d = Decimal(step)
    n = (Decimal(repr(x)) / d).to_integral_value(rounding=ROUND_HALF_EVEN)
    text = format(n * d, '.%df' % -min(0, d.as_tuple().exponent))  # exact: it only pads with zeros
    return text[1:] if text.startswith('-') and n == 0 else text


def to_six(x):
    text = format(Context(prec=6, rounding=ROUND_HALF_EVEN).create_decimal(Decimal(repr(x))), 'f')
    if '.' in text:
        text = text.rstrip('0').rstrip('.')
    return '0' if text == '-0' else text


def values(step):
    s = float(step)
    for _ in range(14):  # the sizes of a map's cells
        yield rnd.uniform(-20, 20)
    for _ in range(6):  # every size from far below the step to far above
        yield rnd.choice((-1, 1)) * s * 10 ** rnd.uniform(-3, 14)
    for _ in range(12):  # floats nearest a tie: true ties where the float is exact
        yield rnd.choice((-1, 1)) * float(Decimal(step) * (rnd.randrange(0, 4000) + Decimal('0.5')))
    for _ in range(8):  # binary fractions, often true ties
        yield rnd.randrange(-4000, 4000) / rnd.choice((2, 4, 8, 16))
    yield from (0.0, -0.0, -s / 3, s / 2, -s / 2, 1.5 * s, 1e22, -1.7976931348623157e308, 5e-324)


def six_values():
    for _ in range(40):
        yield rnd.choice((-1, 1)) * 10 ** rnd.uniform(-12, 15)
    for _ in range(20):  # true ties: a half after six digits
        yield rnd.choice((-1, 1)) * (rnd.randrange(100000, 1000000) + 0.5)
    for _ in range(10):
        yield rnd.choice((-1, 1)) * (10 * rnd.randrange(100000, 1000000) + 5) * 1.0
    for _ in range(10):  # near ties
        yield float(Decimal(rnd.randrange(1000000, 10000000) // 10 * 10 + 5).scaleb(rnd.randrange(-9, 9)))
    yield from (0.0, -0.0, 999999.5, 9.999995, 0.1, 1e22, 1.7976931348623157e308, 5e-324, 100.0, 123456.0, 1234567.0)


for step in ('0.01', '0.05', '0.25', '0.5', '0.004', '5', '0.001', '0.1', '1', '10', '0.125'):
    for x in values(step):
        print('%s,%r,%s' % (step, x, to_step(x, step)))
for x in six_values():
    print(',%r,%s' % (x, to_six(x)))

"""Sources for selftest.py."""

PIPES = '''
catalog pipes {
  name  | tuned [rpm]
  stock | 9400
  long  | 8600
  short | 10200
}
'''
# The language's own example, in full.
EXAMPLE = r'''
# Tussock 124: an invented two-stroke single. Demonstration numbers, not for a real engine.
use air, combustion, injection            # from the standard library
use "pipes.fettle"                        # another file of this workspace

axis throttle [%]   0..100
axis rpm      [rpm] 1000..14000

# What may differ from tune to tune.
given altitude [m]    = 40      within -400..4500
given air_temp [degC] = 22      within -20..50
given blend from fuels = pump98
given pipe  from pipes = stock

# Air on the day the base was proven on the dyno.
let dyno_density = air.density(air.pressure(40 m), 22 degC, 40 %)

catalog fuels {
  name    | stoich | density [kg/m^3] | octane
  local91 | 14.5   | 738              | 91
  pump98  | 14.6   | 745              | 98
  race102 | 14.1   | 728              | 102
}

# Fuel delivered each cycle, proven on the dyno with the stock pipe and pump98.
map fuel [mg] {
  throttle \ rpm | 3000  5000  7000  9000  11000  13000
  0              |  1.1   1.2   1.3   1.2    1.0    0.9
  25             |  3.0   3.4   4.1   4.9    4.6    3.8
  100            |  8.2   9.0  11.6  15.1   16.2   12.7
}

map spark [deg] {
  throttle \ rpm | 3000  5000  7000  9000  11000  13000
  0              |   18    20    20    18     15     11
  100            |   20    22    20    17     14      _      # _ : fill in from the neighbours
}

region midrange = rpm 6000..8500 feather 500, throttle 50..100 feather 10

# Thinner air holds less oxygen, so fuel follows the air's density.
rule thin_air corrects altitude, air_temp {
  fuel *= air.density(air.pressure(altitude), air_temp, 40 %) / dyno_density
}

rule fuel_chemistry {
  fuel *= fuels.pump98.stoich / blend.stoich
}

rule low_octane when blend.octane < 95 {
  spark -= 2 deg over rpm 8000..10500 feather 500, throttle 60..100
}

rule long_pipe when pipe is long {
  fuel   = fuel(throttle, rpm * pipes.stock.tuned / pipe.tuned)     # the torque curve moves down the revs
  fuel  += 3 % over midrange
  spark += 1 deg over rpm ..7000 feather 500
}

# What the hardware then has to do.
map open_time [ms] like fuel = injection.open_time(fuel, 420 [g/min], 0.55 ms)
map duty      [%]  like fuel = injection.duty(open_time, rpm, 1 rev)        # one squirt each revolution

limit injector_closes: duty <= 85 %
limit knock:           spark <= 28 deg when blend.octane < 98
limit no_cliffs:       step(fuel, rpm) / fuel <= 60 % else warn

variant bench { }                          # every given at its default

variants season {
  pipe     = stock, long, short
  blend    = local91, pump98, race102
  altitude = 40 m, 820 m, 1640 m
  except   pipe is short and blend.octane < 98
}

variant highmeadow_june from season/stock-pump98-820m {
  air_temp = 31 degC
  trim fuel += 2 % over rpm 9000..         # found at the track; kept apart until it is proven
}

check "the bench tune is the proven base" with bench {
  fuel(100 %, 11000 rpm)  == 16.2 mg +- 0.1 %
  spark(100 %, 11000 rpm) == 14 deg
}
'''

SMALL = r'''
axis throttle [%] 0..100
axis rpm [rpm] 1000..14000
axis boost [degC] -20..60

given heat [degC] = 20 within -20..120 degF
given wet = no
given part from rows = one
given share [%] = 1
catalog rows from "rows.csv"
let limit_temp [degF] = 50
fn twice(x [mg], y) [g] = x * y

map blanks [mg] {
  throttle \ rpm | 1000 2000 3000
  0   | 10 _ 30
  50  | _  _ _
  100 | 50 70 _   # the end
}
map from_csv from "base.csv"
map soft [mg] {
  rpm | 1000 2000 3000 3500 5000
      | 10 10 10 10 10
}
map scaled [mg] like soft = 10
map halved [mg] like soft = 10 mg
map shifted [mg] {
  rpm | 1000 2000 3000 4000 6000
  | 1 2 3 3 4
}
map amounts [mg] {
  rpm | 1000
  | 100
}
map points [%] like amounts = 50
map ratio like amounts = 0.9
map warmth [degF] like amounts = limit_temp
map spread [K] like amounts = (limit_temp - 5) * 2
map engine_kw [kW] like amounts = 100 Nm * 6000 rpm / 1 rad
map ordered [mg] {
  rpm | 1000 2000
  | 10 11
}
map reader [mg] like ordered = ordered + 1
map one_axis [mg] {
  rpm | 1000 5000
  | 1 5
}
map share_of_throttle [mg] {
  throttle | 0 100
  | 0 1
}
map mixed [mg] like frame = one_axis + share_of_throttle
map frame [mg] {
  throttle \ rpm | 4000 5000
  0 | 0 0
  100 | 0 0
}
map jumps [mg] like frame = step(mixed, rpm)
map somewhere [mg] {
  rpm | 1000 2000 3000 4000 6000
  | 1 2 3 4 5
}
map branches like ordered = if rpm > 1000 then 7 else 10 / 2
map fuzzy {
  rpm | 1000 2000 3000 4000 5000
  | 0 0 0 0 0
}

region band = rpm 2000..3000 feather 2000
rule softly {
  soft += 4 over band
  scaled *= 1.5 over rpm 2000..3000 feather 2000
  halved /= 2 over band
  halved = 8 over band
  shifted = shifted(rpm - 1000 rpm)
  amounts += 10 %
  amounts += 3
  amounts += 1 g
  amounts += 1 mg / 2 mg
  points += 5 %
  points *= 1.1
  points -= 2
  ratio *= 105 %
  ratio += 0.05
  warmth += 9
  somewhere += 10 over rpm ..4000 where somewhere > 2
}
rule ordering { ordered += 5 }
rule fuzz {
  fuzzy = round(2.5) over rpm ..1500
  fuzzy += round(1.5) over rpm 2000..2000
  fuzzy = 2 * clamp(5, 0, 2) over rpm 3000..3000
  fuzzy = -2 ^ 2 over rpm 4000..4500
  fuzzy = 2 ^ 3 ^ 2 over rpm (2 * 2400 rpm)..
}
rule when_wet when wet and not part is two {
  fuzzy += 1
}

limit cap: ordered <= 20 else clamp
limit union: mixed - one_axis <= 3.5 mg
limit slack: 0.99 mg <= amounts <= 1669.5000000001
limit warned: soft <= 11 mg else warn
limit only_wet: soft <= 0 when wet

variant plain { }
variants grid {
  part = one, two
  wet = yes, no
  heat = -5, 10 degC
  share = 0.5 %
  except part is one and not wet
  except part is two and (wet or heat > 32 degF)
  trim ordered += 2
}
variant child from grid/one-wet-10degC-0.5pct {
  heat = 50 degF
  trim ordered *= 2
}
check "good" with pl* {
  soft(1000 rpm) == 12 mg
  soft(1500 rpm) == 13
  soft(1000 rpm) == 12.1 mg +- 1 %
  warmth(1000) == 66.2 degF
  twice(12, 2) == 24 mg
  part.bore == 50.8 mm
  soft(1000 rpm) < 12.1 mg
}
check "bad" with plain {
  soft(1000 rpm) == 12.1 mg
  soft(1000 rpm) == 12.1 mg +- 0.5 %
}
'''

_HEAD = '''
axis throttle [%] 0..100
axis rpm [rpm] 1000..14000
given altitude [m] = 40 within -400..4500
given temp [degC] = 20
catalog fuels {
  name | stoich | note [text]
  pump | 14.6 | x
}
given blend from fuels = pump
map fuel [mg] {
  throttle \\ rpm | 3000 5000
  0   | 1 2
  100 | 3 4
}
map spark [deg] {
  rpm | 3000 5000
      | 10 12
}
map trimmer {
  rpm | 3000
      | 1
}
map warmth [degC] like spark = 20
'''
_TAIL = "\nvariant bench { }\n"


def _rule(statement, when=""):
    return _HEAD + f"rule r {when} {{\n  {statement}\n}}" + _TAIL


def _add(text):
    return _HEAD + text + _TAIL


REFUSED = {
    "unit mismatch in an adjustment": _rule("fuel += 2 deg"),
    "unit mismatch in a sum": _rule("fuel = fuel + altitude"),
    "unit mismatch in a comparison": _rule("fuel += 1 where rpm > 3 m"),
    "unknown name": _rule("fuel *= lambda"),
    "unknown map": _rule("full += 1"),
    "unknown column": _rule("fuel *= blend.octane"),
    "text column": _rule("fuel *= blend.note"),
    "unknown row": _rule("fuel *= 2", "when blend is race"),
    "unknown unit": _rule("fuel += 1 [bushel]"),
    "circle of maps": _rule("fuel = fuel * (spark / 1 deg)\n  spark = spark(rpm) * fuel(0, rpm) / 1 mg"),
    "circle of one": _add("map a [mg] like fuel = a"),
    "circle of lets": _add("let a = b\nlet b = a"),
    "recursion": _add("fn f(x) = f(x)"),
    "circle although when is never": _rule("fuel = fuel * (spark / 1 deg)", "when altitude < -300").replace(
        "variant bench", "rule s { spark = spark * fuel(0, rpm) / 1 mg }\nvariant bench"),
    "point scaled": _rule("spark *= temp / 20 degC"),
    "point scaled by *=": _rule("warmth *= 1.1"),
    "point scaled by a percentage": _rule("warmth += 4 %"),
    "points added": _add("let t = temp + 5 degC"),
    "bare literal added to a point": _add("let t = temp + 5"),
    "point negated": _add("let t = -temp"),
    "bare literal opposite an expression": _rule("fuel += 1 where fuel * 2 > 3"),
    "bare literal opposite an expression in a sum": _rule("fuel = fuel * 2 + 3"),
    "bare literal beside a percent": _rule("fuel *= throttle + 5"),
    "percent on a plain map": _rule("trimmer += 5 %"),
    "axis in when": _rule("fuel += 1", "when rpm > 9000"),
    "map in when": _rule("fuel += 1", "when fuel > 9"),
    "map over a missing axis": _rule("spark = spark * fuel / 1 mg"),
    "region over a missing axis": _rule("spark += 1 over throttle 0..50"),
    "two statements on a line": _rule("fuel += 1 spark += 1"),
    "declared twice": _add("let fuel = 1"),
    "parameter is a name": _add("fn f(rpm) = rpm"),
    "keyword as a name": _add("let when = 1"),
    "breakpoint outside": _add("map a {\n rpm | 500 2000\n | 1 2\n}"),
    "breakpoints fall": _add("map a {\n rpm | 5000 2000\n | 1 2\n}"),
    "cells missing": _add("map a {\n rpm | 2000 5000\n | 1\n}"),
    "all blank": _add("map a {\n rpm | 2000 5000\n | _ _\n}"),
    "outside within": _add("variant v { altitude = 5000 }"),
    "unknown condition": _add("variant v { height = 5000 }"),
    "from an unknown variant": _add("variant v from w { }"),
    "from an excluded one": _add("variants m {\n altitude = 1, 2\n except altitude > 1\n}\nvariant v from m/2m { }"),
    "equal names": _add("variants m {\n altitude = 1, 1 m\n}"),
    "nothing left": _add("variants m {\n altitude = 1\n except altitude > 0\n}"),
    "two values in a variant": _add("variant v { altitude = 1, 2 }"),
    "caret after a unit": _add("let a = 3 m^2"),
    "exp of a length": _add("let a = exp(altitude)"),
    "sqrt of a point": _add("let a = sqrt(temp)"),
    "let sees an axis": _add("let a = rpm"),
    "function sees a given": _add("fn f(x) = x * altitude"),
    "too many arguments": _rule("fuel += 1 where spark(1, 2) > 3"),
    "wrong argument": _rule("fuel += 1 where spark(1 m) > 3"),
    "clamp of two maps": _add("limit l: fuel <= spark / 1 deg * 1 mg else clamp").replace("fuel <= spark", "fuel / 1 mg <= spark"),
    "clamp bound from itself": _add("limit l: fuel <= fuel(0, rpm) else clamp"),
    "proof over a row": _add("limit l: fuel <= 20 for blend 0..1"),
    "proof over an axis": _add("limit l: fuel <= 20 for rpm 3000..4000"),
    "proof with an open end": _add("limit l: fuel <= 20 for altitude 0.."),
    "proof beyond within": _add("limit l: fuel <= 20 for altitude 0..9000"),
    "proof twice": _add("limit l: fuel <= 20 for altitude 0..1, altitude 1..2"),
    "proof of a clamp": _add("limit l: fuel <= 20 for altitude 0..1 else clamp"),
    "proof before when": _add("limit l: fuel <= 20 for altitude 0..1 when altitude > 3"),
    "check without a variant": _add('check "x" with nobody {\n fuel(0, 3000) == 1\n}'),
    "review of an unknown map": _add("review { allow full = 2 % }"),
    "review with a map twice": _add("review {\n allow fuel = 2 %\n allow fuel = 1 mg\n}"),
    "check of a bare map": _add('check "x" with bench {\n fuel == 1\n}'),
    "tolerance outside check": _rule("fuel += 1 +- 2"),
    "curve over two quantities": _add("curve c [ms] {\n a \\ b | 1 2\n 1 | 1 2\n}"),
    "curve that isn't called": _add("curve c [ms] {\n v [V] | 1 2\n | 1 2\n}\nlet a = c"),
    "curve of another unit": _add("curve c [ms] {\n v [V] | 1 2\n | 1 2\n}\nlet a = c(3 mg)"),
    "unknown module": "use nothing\n" + _add(""),
    "use after a declaration": _add("use air"),
    "inch without brackets": _add("let a = 3 in"),
    "dot without digits": _add("let a = 3."),
    "rule under an unknown given": _rule("fuel += 1", "corrects height"),
    "compound degC": _add("let a = 3 [W/degC]"),
    "module's own name unqualified": "use air\n" + _add("let a = pressure(1)"),
    "plain to a united map": _rule("fuel = 2 * 3"),
    "mixed min": _rule("fuel += min(1 mg, 2 m)"),
    "bare in min beside an expression": _rule("fuel += min(fuel * 2, 2)"),
    "bracket left open": _add("rule x {"),
}

ACCEPTED = {
    "head": _add(""),
    "bare opposite names": _rule("fuel += 1 where rpm > 4000 and fuel <= 3 and throttle > 50"),
    "module": "use air, combustion\n" + _add("let a [kW] = combustion.power(100, 6000)\nlet b = combustion.sea_density()"),
    "point less a bare literal": _rule("spark *= 1 + (temp - 22) / 100 K"),
    "K is a temperature too": _add("let a [degC] = 300 K\nlet b = a - temp"),
    "self look-up is no circle": _rule("fuel = fuel(throttle, rpm * 1.02)"),
    "continuation": _rule("fuel *= 1 +\n    0.1 *\n    2"),
    "continuation in parentheses": _rule("fuel *= (1\n    + 0.1\n    * 2)"),
    "bounds by name": _add("let edge [rpm] = 4000\nrule r { spark += 1 over rpm edge.. }\nrule s { spark += 1 over rpm ..(edge * 2) feather (edge / 4) }"),
    "unit at the end serves both": _add("axis height [m] 0..2 km\nmap a { \n height | 0 2000\n | 1 2\n}"),
    "check range limit": _add("limit l: 1 <= fuel <= 4\nlimit m: step(fuel, rpm) / fuel <= 200 %"),
    "proof over a range": _add("limit l: fuel <= 20 where rpm > 1 when altitude > 1 for altitude -0.1..1 km, temp -5 degC..45 degC else warn"),
    "matrix names": _add('variants m {\n altitude = -5, 820 m, 1.5 [km]\n}\ncheck "n" with m/minus5m { altitude == -5 }'
                         '\ncheck "o" with m/1.5km { altitude == 1500 m }'),
    "min takes the unit beside": _rule("fuel = min(fuel, 3)\n  fuel = if rpm > 4000 then fuel else 2"),
    "review": _add("review {\n allow fuel = 2 %\n allow spark = 0.5 deg\n}"),
    "curve": _add("curve c [ms] {\n v [V] | 1 2 4\n | 1 _ 7\n}\nlet a [s] = c(3 V)\nfn f(x [V]) = c(x) + c(2)"),
    "target is skipped": _add("target t {\n compensates altitude\n table a = fuel as u16 step 0.01 mg at throttle 0, 2, rpm 1000..13000 by 500\n}"),
    "text of units": _add("let a [kg/(m^3*K)] = 3\nlet b = 4 [1/s] * 2 min"),
}

"""examples/tussock, six of its tunes worked by hand with numpy. Run it to write tussock.json again."""

import numpy

from physics import PSI, from_celsius, dry_density, saturation_pressure, standard_pressure
from tables import inside, look_up, look_up_line, read_csv_map, read_map, write

# The catalogues.
TUNED = {"stock": 740, "long": 762, "short": 724, "wide": 744}  # mm
HEADS = {"mild": (13.2, 91), "club": (14.4, 97), "high": (15.8, 100)}  # ratio, the octane that it wants
FUELS = {"local91": (14.5, 738, 91), "e10_95": (14.1, 748, 95), "pump98": (14.6, 745, 98),
         "race102": (14.1, 728, 102), "oxy104": (13.4, 741, 104)}  # stoich, kg/m^3, octane

# What an injector loses as it opens, at 300 kPa: ms at V.
OPENING_LOSS = [8, 9, 10, 11, 12, 13, 14, 15, 16], [1.75, 1.44, 1.20, 0.99, 0.82, 0.69, 0.59, 0.52, 0.46]

# The way from each tip to the reeds, in m.
LOWER_REACH, UPPER_REACH = 0.060, 0.150


def dry_part(pressure, kelvin, humidity):
    return 1 - humidity * saturation_pressure(kelvin) / pressure


def tune(altitude=40, air_temp=22, humidity=40, blend="pump98", pipe="stock", head="club", oil_ratio=40, rail=52,
         battery=14, wet=False, engine_cold=False, trims=()):
    stoich, density, octane = FUELS[blend]
    ratio, wants = HEADS[head]
    pressure, kelvin = standard_pressure(altitude), from_celsius(air_temp)

    fuel_base = read_csv_map("tussock/base_fuel.csv")  # mg
    spark_base = read_map("tussock/base.fettle", "spark")  # deg
    share = read_map("tussock/base.fettle", "share")  # %
    fuel, spark = fuel_base.cells, spark_base.cells

    # Fuel and spark stand under the same breakpoints, so the weights of the regions serve both.
    throttle, rpm = fuel_base.places()
    assert numpy.array_equal(fuel_base.rows, spark_base.rows) and numpy.array_equal(fuel_base.columns, spark_base.columns)
    on_the_pipe = inside(rpm, 9500, 12000, feather=750) * inside(throttle, low=50, feather=20)
    the_hit = inside(rpm, 8500, 10000, feather=500) * inside(throttle, low=40, feather=15)
    under_load = inside(rpm, low=7000, feather=1500) * inside(throttle, low=50, feather=20)
    past_the_peak = inside(rpm, low=12500, feather=500) * inside(throttle, low=70, feather=15)
    pulling_away = inside(rpm, high=3500, feather=2000) * inside(throttle, high=20, feather=20)

    # pipes.fettle
    shift = TUNED[pipe] / TUNED["stock"]
    moved = inside(rpm, low=7000, feather=1000) * inside(throttle, low=25, feather=15)
    if pipe == "long":  # long_pipe
        fuel = fuel + moved * (look_up(fuel_base.like(fuel), throttle, rpm * shift) - fuel)
        fuel = fuel * (1 + the_hit * 0.025)
        fuel = fuel * (1 - past_the_peak * 0.02)
        spark = spark + under_load * (look_up(spark_base.like(spark), throttle, rpm * shift) - spark)
        spark = spark + inside(rpm, 4500, 7500, feather=1000) * inside(throttle, low=30, feather=10) * 1
    if pipe == "short":  # short_pipe
        fuel = fuel + moved * (look_up(fuel_base.like(fuel), throttle, rpm * shift) - fuel)
        fuel = fuel * (1 - inside(rpm, 7000, 8500, feather=1000) * inside(throttle, low=30, feather=15) * 0.05)
        fuel = fuel * (1 + inside(rpm, 11000, 13000, feather=500) * inside(throttle, low=50, feather=20) * 0.03)
        spark = spark - on_the_pipe * 0.5
    if pipe == "wide":  # wide_pipe
        fuel = fuel * (1 - inside(rpm, 10500, 12000, feather=500) * inside(throttle, low=50, feather=20) * 0.03)
        fuel = fuel * (1 + inside(rpm, 7500, 9000, feather=500) * inside(throttle, low=40, feather=15) * 0.04)
        spark = spark + the_hit * 0.5

    # heads_and_fuels.fettle
    fuel = fuel * (FUELS["pump98"][0] / stoich)  # fuel_chemistry
    fuel = fuel * (((oil_ratio + 1) / oil_ratio) / ((40 + 1) / 40))  # oil_in_the_mix
    if head != "club":  # compression
        spark = spark - under_load * (1.25 * (ratio - HEADS["club"][0]))
    if octane < wants:  # low_octane
        spark = spark - under_load * (wants - octane) / 3
        fuel = fuel * (1 + on_the_pipe * 0.01)

    # weather.fettle
    # thin_air: both at the dyno's 40 % of humidity
    fuel = fuel * dry_density(pressure, kelvin, 0.40) / dry_density(standard_pressure(40), from_celsius(22), 0.40)
    fuel = fuel * dry_part(pressure, kelvin, humidity / 100) / dry_part(pressure, kelvin, 0.40)  # damp_air
    if altitude > 40:  # slow_burn
        high_up = inside(rpm, low=4500, feather=1000) * inside(throttle, low=20, feather=10)
        spark = spark + high_up * (0.6 * (altitude - 40) / 1000)
    if air_temp < 8:  # cold_day
        fuel = fuel * (1 + pulling_away * 0.04)
    if air_temp > 30:  # hot_day
        spark = spark - under_load * 1
        fuel = fuel * (1 + on_the_pipe * 0.01)
    if wet:  # wet_track
        spark = spark - the_hit * 4
        fuel = fuel * (1 + the_hit * 0.02)
    if engine_cold:  # warming_up
        fuel = fuel * (1 + pulling_away * 0.10)
        spark = spark - under_load * 2

    # The trims, after all rules, in the order that `from` brings them.
    for name in trims:
        if name == "highmeadow_june":
            fuel = fuel * (1 + inside(rpm, low=9000, feather=500) * inside(throttle, low=70) * 0.02)
        elif name == "rimside_rain":
            spark = spark - under_load * 0.5
        elif name == "ethanol_trial":
            fuel = fuel * (1 + under_load * 0.01)

    # most_spark, a clamp: after everything
    spark = numpy.minimum(spark, 28)

    # injectors.fettle: Mathur and Sharma, Internal Combustion Engine, example 12.2: the flow goes with the
    # square root of the pressure and, by mass, of the density. In mg/ms.
    flow = numpy.sqrt(rail * PSI / 300e3) * numpy.sqrt(density / FUELS["pump98"][1]) / 60
    lower_flow, upper_flow = 150 * flow, 170 * flow
    dead_time = numpy.interp(battery, *OPENING_LOSS) + (rail * PSI / 1e3 - 300) / 1000  # ms
    # Under 0.32 ms of flow the upper injector stays shut. A rounding error mustn't decide whether it opens.
    wanted = fuel * look_up(share, throttle, rpm) / 100
    assert numpy.all(abs(wanted - 0.32 * upper_flow) > 1e-9)
    fuel_upper = numpy.where(wanted < 0.32 * upper_flow, 0, wanted)
    fuel_lower = fuel - fuel_upper
    # SAE J1832's straight line (from memory): the time that it flows, and the time that it needs to open.
    spray_lower, spray_upper = fuel_lower / lower_flow, fuel_upper / upper_flow  # ms
    open_lower = numpy.where(fuel_lower > 0, spray_lower + dead_time, 0)
    open_upper = numpy.where(fuel_upper > 0, spray_upper + dead_time, 0)
    one_turn = 60e3 / rpm  # ms

    # timing.fettle: degrees after bottom dead centre
    opens, shuts, centre, stagger = (read_map("tussock/timing.fettle", name)
                                     for name in ("reeds_open", "reeds_shut", "centre_lower", "stagger"))
    at = stagger.columns
    centre_upper = look_up_line(centre, at) - stagger.cells[0]
    # Bernoulli's theorem (from memory) for the speed of a jet, of which three quarters are flown.
    speed = 0.75 * numpy.sqrt(2 * rail * PSI / density)  # m/s
    travel_lower, travel_upper = LOWER_REACH / speed * at * 6, UPPER_REACH / speed * at * 6
    # Half of a squirt's fuel comes before its middle; before that lie the flight and the time to open.
    first, start = {}, {}
    for name, spray, middle, reach in (("lower", spray_lower, look_up_line(centre, rpm), LOWER_REACH),
                                       ("upper", spray_upper, look_up_line(stagger.like(centre_upper), rpm), UPPER_REACH)):
        first[name] = middle - spray / 2 / one_turn * 360
        start[name] = first[name] - (reach / speed * 1e3 + dead_time) / one_turn * 360

    def waits(first, spray):
        """What per cent of a squirt doesn't come between the reeds' opening and their shutting, in any turn."""
        last = first + spray / one_turn * 360
        inside = numpy.zeros_like(last)
        for turn in range(-3, 4):
            low, high = look_up_line(opens, rpm) + 360 * turn, look_up_line(shuts, rpm) + 360 * turn
            inside += numpy.maximum(numpy.minimum(last, high) - numpy.maximum(first, low), 0)
        return numpy.where(spray > 0, 1 - inside / numpy.where(spray > 0, last - first, 1), 0) * 100

    def grid(cells):
        return fuel_base.like(cells)

    return {
        "fuel": ("mg", grid(fuel)),
        "spark": ("deg", spark_base.like(spark)),
        "share": ("%", share),
        "fuel_upper": ("mg", grid(fuel_upper)),
        "fuel_lower": ("mg", grid(fuel_lower)),
        "open_lower": ("ms", grid(open_lower)),
        "open_upper": ("ms", grid(open_upper)),
        "spray_lower": ("ms", grid(spray_lower)),
        "spray_upper": ("ms", grid(spray_upper)),
        "duty_lower": ("%", grid(open_lower / one_turn * 100)),
        "duty_upper": ("%", grid(open_upper / one_turn * 100)),
        "squirt_lower": ("deg", grid(open_lower / one_turn * 360)),
        "squirt_upper": ("deg", grid(open_upper / one_turn * 360)),
        "pump_flow": ("g/min", grid(fuel * rpm / 1000)),
        "reeds_open": ("deg", opens),
        "reeds_shut": ("deg", shuts),
        "centre_lower": ("deg", centre),
        "stagger": ("deg", stagger),
        "centre_upper": ("deg", stagger.like(centre_upper)),
        "travel_lower": ("deg", stagger.like(travel_lower)),
        "travel_upper": ("deg", stagger.like(travel_upper)),
        "opening": ("deg", stagger.like(dead_time * at * 6 / 1e3)),
        "start_lower": ("deg", grid(start["lower"])),
        "start_upper": ("deg", grid(start["upper"])),
        "waits_lower": ("%", grid(waits(first["lower"], spray_lower))),
        "waits_upper": ("%", grid(waits(first["upper"], spray_upper))),
    }


write("tussock", "examples/tussock: the maps of six tunes, worked with numpy", {
    # season/wide-club-race102-1240m, in the rain
    "rimside_rain": tune(pipe="wide", blend="race102", altitude=1240, air_temp=11, humidity=95, wet=True,
                         trims=["rimside_rain"]),
    # season/long-mild-pump98-430m, on a frosty morning
    "frosty_morning": tune(pipe="long", head="mild", altitude=430, air_temp=-2, humidity=80, engine_cold=True,
                           battery=12.6),
    # highmeadow_june, which is season/stock-club-pump98-820m in the heat, with another fuel
    "ethanol_trial/e10_95-33degC": tune(blend="e10_95", altitude=820, air_temp=33, humidity=25,
                                        trims=["highmeadow_june", "ethanol_trial"]),
    # season/stock-club-pump98-40m, with more oil
    "new_piston": tune(oil_ratio=25),
    "season/short-high-race102-1640m": tune(pipe="short", head="high", blend="race102", altitude=1640),
    # The one pipe, head and height whose spark the clamp caps
    "season/long-mild-race102-1640m": tune(pipe="long", head="mild", blend="race102", altitude=1640),
})

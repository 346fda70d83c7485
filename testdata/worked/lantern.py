"""examples/lantern, four of its tunes worked by hand with numpy. Run it to write lantern.json again.

Temperatures are worked in kelvin and turned back; the owner's other units are turned into SI where they enter.
"""

import numpy

from physics import FOOT, POUND, from_fahrenheit, moist_density, standard_pressure, stoichiometric, to_fahrenheit
from tables import inside, look_up, look_up_line, read_map, write

SOURCE = "lantern/engine.fettle"

# The catalogue: atoms of carbon, hydrogen, oxygen; density in kg/m^3.
FUELS = {"pump91": (1, 1.87, 0, 742), "e10": (1, 1.945, 0.033, 748), "e85": (1, 2.757, 0.392, 785)}


def tune(altitude=1000, intake_temp=72, humidity=30, engine_temp=190, battery=13.8, blend="pump91",
         long_stage=False, dusty=False, mixture_trim=False):
    carbon, hydrogen, oxygen, density = FUELS[blend]

    filling = read_map(SOURCE, "filling")  # %
    mixture = read_map(SOURCE, "mixture")
    spark = read_map(SOURCE, "spark")  # deg
    seat = read_map(SOURCE, "seat_temp")  # degF
    warm_up = read_map(SOURCE, "warm_up")  # %, over degF
    dead_time = read_map(SOURCE, "dead_time")  # ms, over V

    def working(throttle, rpm):
        return inside(rpm, low=3000, feather=1000) * inside(throttle, low=50, feather=20)

    # filling: dusty_filter
    throttle, rpm = filling.places()
    if dusty:
        weight = inside(throttle, low=50, feather=30) * inside(rpm, low=6000, feather=3000)
        filling = filling.like(filling.cells * (1 + weight * (1 / 1.04 - 1)))

    # mixture, at its own breakpoints: long_cruise, hot_engine, the trim
    throttle, rpm = mixture.places()
    cells = mixture.cells
    if long_stage:
        cruise = inside(rpm, 3500, 5500, feather=1000) * inside(throttle, 10, 35, feather=10)
        cells = cells + cruise * (1 - cells)
    if engine_temp > 230:
        cells = cells * (1 + working(throttle, rpm) * (1 / 1.04 - 1))
    if mixture_trim:
        weight = inside(rpm, 7000, 9000, feather=500) * inside(throttle, low=70)
        cells = cells * (1 + weight * (1 / 1.01 - 1))
    mixture = mixture.like(cells)

    # air_mass: 249 cc at the density of the air outside, in mg
    throttle, rpm = filling.places()
    outside_air = moist_density(standard_pressure(altitude * FOOT), from_fahrenheit(intake_temp), humidity / 100)
    full_cylinder = 249e-6 * outside_air * 1e6
    air_mass = filling.cells / 100 * full_cylinder

    # fuel: overrun, warming_up
    fuel = air_mass / (stoichiometric(carbon, hydrogen, oxygen) * look_up(mixture, throttle, rpm))
    fuel = numpy.where((throttle < 2) & (rpm > 4000), 0, fuel)
    if engine_temp < 190:
        fuel = fuel * (1 + look_up_line(warm_up, engine_temp) / 100)

    # spark: steady_idle, slow_burn, hot_air, ethanol
    degrees = spark.cells
    idle = inside(rpm, high=2000, feather=500) * inside(throttle, high=2, feather=5)
    degrees = degrees + idle * (12 - degrees)
    if altitude > 1000:
        degrees = degrees + inside(rpm, low=3000, feather=1000) * (0.25 * (altitude - 1000) / 1000)
    if intake_temp > 85:
        degrees = degrees - working(throttle, rpm) * numpy.where(rpm < 5000, 2, 1)
    if blend == "e85":
        degrees = degrees + working(throttle, rpm) * 2

    # seat_temp: ethanol, then both lines of seat_heat
    kelvin = from_fahrenheit(seat.cells)
    if blend == "e85":
        kelvin = kelvin - working(throttle, rpm) * 20
    kelvin = kelvin + 0.4 * (from_fahrenheit(intake_temp) - from_fahrenheit(72))
    kelvin = kelvin + numpy.where(throttle >= 70, 250 * (look_up(mixture, throttle, rpm) - 0.88), 0)

    # The injector. Mathur and Sharma, Internal Combustion Engine, example 12.2: the flow goes with the square
    # root of the pressure and, by mass, of the density.
    flow = 27 * POUND * 1e6 / 3600e3 * numpy.sqrt(45 / 43.5) * numpy.sqrt(density / 742)  # mg/ms
    # SAE J1832's straight line (from memory): the time that it flows, and the time that it needs to open.
    open_time = numpy.where(fuel > 0, fuel / flow + look_up_line(dead_time, battery), 0)  # ms
    duty = open_time / (2 * 60e3 / rpm) * 100  # of two revolutions, in %
    squirt_start = 360 * open_time * rpm / 60e3 + numpy.where(rpm > 6000, 60, 30)

    return {
        "filling": ("%", filling),
        "mixture": ("", mixture),
        "spark": ("deg", spark.like(degrees)),
        "seat_temp": ("degF", seat.like(to_fahrenheit(kelvin))),
        "warm_up": ("%", warm_up),
        "dead_time": ("ms", dead_time),
        "air_mass": ("mg", filling.like(air_mass)),
        "fuel": ("mg", filling.like(fuel)),
        "open_time": ("ms", filling.like(open_time)),
        "duty": ("%", filling.like(duty)),
        "squirt_start": ("deg", filling.like(squirt_start)),
    }


write("lantern", "examples/lantern: the maps of four tunes, worked with numpy", {
    # ridge/8000ft-e10-95degF, and an engine near its boiling point
    "hot_climb": tune(altitude=8000, blend="e10", intake_temp=95, engine_temp=250, mixture_trim=True),
    # ridge/4500ft-e10-50degF, after a night in the open
    "cold_start": tune(altitude=4500, blend="e10", intake_temp=20, engine_temp=20, battery=11),
    # ridge/1000ft-pump91-95degF, hot, long and dusty
    "salt_stage": tune(altitude=1000, blend="pump91", intake_temp=112, long_stage=True, dusty=True),
    "ridge/8000ft-e85-95degF": tune(altitude=8000, blend="e85", intake_temp=95),
})

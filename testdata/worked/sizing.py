"""examples/sizing, its four tunes worked by hand with numpy. Run it to write sizing.json again."""

import numpy

from physics import PSI
from tables import read_map, write

# The catalogues. Engines: kW, g/(kW h), rpm; mg and rpm at idle; turns for a squirt, degrees of window.
ENGINES = {"heron": (17, 290, 9000, 3.6, 1500, 2, 600), "shrew": (26, 460, 12500, 2.1, 1700, 1, 320)}
SHELF = {None: 0, "medium": 200, "large": 290, "huge": 420}  # cc/min
# The library's fuels: the ratio and kg/m^3 at 15 degC, as its catalogue has them; its own figures are proven elsewhere.
FUELS = {"petrol": (14.599, 745.00), "e85": (9.798, 786.37)}
HEPTANE = 687.87  # kg/m^3


def tune(engine="heron", first="medium", second=None, blend="petrol", rail=52):
    power, consumption, full_at, idle, idle_at, turns, window = ENGINES[engine]
    stoich, density = FUELS[blend]
    more = FUELS["petrol"][0] / stoich
    idle_mass = idle * more  # mg
    full_mass = power * consumption / 60 / (full_at / turns) * 1000 * more  # g/h, g/min, mg for each squirt

    def flow(bench):
        # Mathur and Sharma, Internal Combustion Engine, example 12.2: the flow goes with the square root of the
        # pressure and, by mass, of the density. In mg/ms; one of them is 60 g/min.
        return bench * HEPTANE / 1000 / 60 * numpy.sqrt(rail * PSI / 300e3 * density / HEPTANE)

    first_flow, second_flow = flow(SHELF[first]), flow(SHELF[second])
    share = second_flow / (first_flow + second_flow)

    dead_time = read_map("sizing/tune.fettle", "dead_time")  # ms, over V
    dead = dead_time.cells
    least_flowing = max(0.3, 6 / (360 * idle_at / 60e3))  # ms
    most_open = min(0.85 * turns * 60e3 / full_at, window / 360 * 60e3 / full_at)
    # SAE J1832's straight line (from memory), turned round.
    smallest = full_mass / (most_open - dead)  # mg/ms
    largest = idle_mass / least_flowing

    # Rounding mustn't decide whether they fit.
    assert numpy.all(abs(first_flow / largest - 1) > 1e-6)
    assert numpy.all(abs((first_flow + second_flow) / smallest - 1) > 1e-6)
    fit = (first_flow <= largest) & (first_flow + second_flow >= smallest)

    def grid(cells):
        return dead_time.like(cells)

    return {
        "dead_time": ("ms", dead_time),
        "shortest": ("ms", grid(dead + least_flowing)),
        "longest": ("ms", grid(most_open)),
        "smallest": ("g/min", grid(smallest * 60)),
        "largest": ("g/min", grid(largest * 60)),
        "second_least": ("g/min", grid(numpy.maximum(smallest - first_flow, 0) * 60)),
        "idle_open": ("ms", grid(idle_mass / first_flow + dead)),
        "first_open": ("ms", grid(full_mass * (1 - share) / first_flow + dead)),
        "second_open": ("ms", grid(full_mass * share / second_flow + dead if second else 0)),
        "they_fit": ("", grid(numpy.where(fit, 1, 0))),
    }


write("sizing", "examples/sizing: the maps of its four tunes, worked with numpy", {
    "heron_petrol": tune(),
    "heron_e85": tune(first="large", blend="e85"),
    "shrew_single": tune(engine="shrew", first="huge"),
    "shrew_pair": tune(engine="shrew", second="large"),
})

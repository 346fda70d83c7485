"""examples/first, two of its tunes worked by hand with numpy. Run it to write first.json again."""

from physics import standard_pressure
from tables import inside, read_map, write


def tune(altitude, cold):
    fuel = read_map("first/tune.fettle", "fuel")  # mg
    throttle, rpm = fuel.places()

    # thin_air
    mg = fuel.cells * (standard_pressure(altitude) / standard_pressure(100))

    # cold_start
    if cold:
        weight = inside(rpm, high=3000, feather=2000) * inside(throttle, high=20, feather=10)
        mg = mg * (1 + 0.12 * weight)

    # The limit at 14 mg holds; it changes no cell.
    assert mg.max() <= 14
    return {"fuel": ("mg", fuel.like(mg))}


write("first", "examples/first: the map of two tunes, worked with numpy", {
    "home": tune(altitude=100, cold=False),
    "frosty_hill": tune(altitude=1600, cold=True),
})

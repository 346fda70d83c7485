"""The physics of the worked tunes, written out again from the published formulas. SI units throughout."""

import numpy

# Units, in SI.
# International yard and pound agreement, 1959: exact.
FOOT, INCH, POUND = 0.3048, 0.0254, 0.45359237
# Standard gravity: CGPM 1901, exact.
GRAVITY = 9.80665
PSI = POUND * GRAVITY / INCH**2


def from_celsius(t):
    return t + 273.15  # SI Brochure, 9th edition


def from_fahrenheit(t):
    return (t + 459.67) / 1.8  # NIST SP 811, appendix B.8


def to_fahrenheit(kelvin):
    return kelvin * 1.8 - 459.67


def standard_pressure(height):
    """The standard atmosphere's pressure, from a geopotential height.

    U.S. Standard Atmosphere 1976, table 3, the same in ISO 2533 and ICAO Doc 7488: 288.15 K and 101325 Pa at
    sea level, 6.5 K less each kilometre, p = p0 (T/T0)^5.25588.
    """
    # The exponent is g0 M / (R L) of the constants that the standard gives, to the digits that it prints.
    assert round(GRAVITY * 28.9644 / (8314.32 * 0.0065), 5) == 5.25588
    return 101325 * ((288.15 - 0.0065 * height) / 288.15) ** 5.25588


def saturation_pressure(kelvin):
    """The pressure of saturated vapour over water.

    ASHRAE Handbook of Fundamentals 2017, chapter 1, after Hyland and Wexler: its formula over liquid water.
    """
    c8, c9, c10, c11, c12, c13 = -5.8002206e3, 1.3914993, -4.8640239e-2, 4.1764768e-5, -1.4452093e-8, 6.5459673
    return numpy.exp(c8 / kelvin + numpy.polynomial.polynomial.polyval(kelvin, [c9, c10, c11, c12])
                     + c13 * numpy.log(kelvin))


def moist_density(pressure, kelvin, humidity):
    """The density of moist air: v = R T (1 + 1.607858 W) / p and rho = (1 + W) / v.

    ASHRAE Handbook of Fundamentals 2017, chapter 1, by way of the humidity ratio W = 0.621945 pv / (p - pv),
    with the ratio of the gas constants that it gives, 287.042 and 461.524 J/(kg K), for its rounded figures.
    """
    ratio = 287.042 / 461.524
    assert abs(ratio - 0.621945) < 2e-6 and abs(1 / ratio - 1.607858) < 5e-6
    vapour = humidity * saturation_pressure(kelvin)
    w = ratio * vapour / (pressure - vapour)
    volume = 287.042 * kelvin * (1 + w / ratio) / pressure
    return (1 + w) / volume


def dry_density(pressure, kelvin, humidity):
    """The dry air in a volume of moist air: its partial pressure over 287.042 J/(kg K) times the temperature.

    ASHRAE Handbook of Fundamentals 2017, chapter 1: moist air as two ideal gases.
    """
    return (pressure - humidity * saturation_pressure(kelvin)) / (287.042 * kelvin)


def stoichiometric(carbon, hydrogen, oxygen):
    """The air that burns a mass of fuel, from its atoms, with y hydrogens and z oxygens to a carbon.

    Heywood, Internal Combustion Engine Fundamentals, equation 3.6 (from memory): 34.56 (4 + y) / (12.011 + 1.008 y);
    an oxygen in the fuel saves two of the four that a carbon and its y/4 need. IUPAC's abridged atomic weights.
    """
    y, z = hydrogen / carbon, oxygen / carbon
    return 34.56 * (4 + y - 2 * z) / (12.011 + 1.008 * y + 15.999 * z)

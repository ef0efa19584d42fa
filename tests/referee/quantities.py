"""Units, and properties over temperature, for the referees: from docs/theory.md and materials/README.md alone."""

import bisect
import math
import re


class Refusal(Exception):
    """The case asks for something that the referees do not do."""


# ---- units ---------------------------------------------------------------------------------------------------------

ASTRONOMICAL_UNIT_M = 149597870700.0
STEFAN_BOLTZMANN = 5.670374419e-8
PREFIXES = {"n": 1e-9, "u": 1e-6, "m": 1e-3, "c": 1e-2, "k": 1e3, "M": 1e6, "G": 1e9}
UNITS = {
    "m": 1.0, "g": 1e-3, "s": 1.0, "K": 1.0, "A": 1.0, "V": 1.0, "W": 1.0, "J": 1.0, "ohm": 1.0, "rad": 1.0,
    "min": 60.0, "h": 3600.0, "day": 86400.0, "deg": math.pi / 180.0, "%": 0.01, "AU": ASTRONOMICAL_UNIT_M,
    "year": 365.25 * 86400.0, "month": 365.25 * 86400.0 / 12.0, "Wh": 3600.0, "Pa": 1.0, "N": 1.0,
}


def unit_factor(name):
    """SI value of one unit with its exponent, such as `mm` or `m2`."""
    if name == "1":
        return 1.0
    match = re.fullmatch(r"([A-Za-z%]+)(\d*)", name)
    if not match:
        raise Refusal(f"unit '{name}' is not known to the referee")
    symbol, power = match.group(1), int(match.group(2) or "1")
    if symbol in UNITS:
        return UNITS[symbol] ** power
    if symbol[0] in PREFIXES and symbol[1:] in UNITS:
        return (PREFIXES[symbol[0]] * UNITS[symbol[1:]]) ** power
    raise Refusal(f"unit '{name}' is not known to the referee")


def quantity(text):
    """`800 W/(m2 K)` in SI units; `28 degC` in kelvin."""
    match = re.fullmatch(r"\s*([-+]?[0-9.]+(?:[eE][-+]?\d+)?)\s*(.*?)\s*", text)
    if not match:
        raise Refusal(f"'{text}' is no quantity")
    value, unit = float(match.group(1)), match.group(2)
    if unit == "degC":
        return value + 273.15
    above, _, below = unit.partition("/")
    for name in above.split():
        value *= unit_factor(name)
    for name in below.strip("()").split():
        value /= unit_factor(name)
    return value


# ---- properties over temperature -----------------------------------------------------------------------------------


class Property:
    """A constant or a table over temperature: linear between rows, end values held (theory, section 2)."""

    def __init__(self, rows, factor=1.0):
        self.temperature = [row[0] for row in rows]
        self.rows = [row[1] * factor for row in rows]
        self.area, self.slopes = [0.0], []
        for i in range(1, len(rows)):
            width = self.temperature[i] - self.temperature[i - 1]
            self.slopes.append((self.rows[i] - self.rows[i - 1]) / width)
            self.area.append(self.area[-1] + 0.5 * width * (self.rows[i] + self.rows[i - 1]))

    def times(self, factor):
        return Property(list(zip(self.temperature, self.rows)), factor)

    def interval(self, temperature):
        last = len(self.rows) - 1
        if temperature <= self.temperature[0]:
            return -1
        if temperature >= self.temperature[last]:
            return last
        return bisect.bisect_left(self.temperature, temperature) - 1

    def value(self, temperature):
        if len(self.rows) == 1:
            return self.rows[0]
        i = self.interval(temperature)
        if i < 0 or i == len(self.rows) - 1:
            return self.rows[max(i, 0)]
        return self.rows[i] + self.slopes[i] * (temperature - self.temperature[i])

    def integral(self, temperature):
        """From the first row's temperature (a constant's is 0 K)."""
        i = max(self.interval(temperature), 0) if len(self.rows) > 1 else 0
        part = temperature - self.temperature[i]
        inside = i < len(self.slopes) and part > 0.0
        half_slope = 0.5 * self.slopes[i] if inside else 0.0
        return self.area[i] + part * (self.rows[i] + half_slope * part)


def constant(value):
    return Property([(0.0, value)])


# ---- sections of a case -------------------------------------------------------------------------------------------


def keys_of(section, where, known):
    unknown = set(section) - set(known.split())
    if unknown:
        raise Refusal(f"{where}: the referee does not know {', '.join(sorted(unknown))}")
    return section


def is_yes(text):
    return text in ("yes", "true", "on")


def property_of(entry):
    if "value" in entry:
        return constant(quantity(entry["value"]))
    return Property([(quantity(row[0]), quantity(row[1])) for row in entry["table"]])


def number_of(entry):
    """Density, absorptance, emittance and the values of cells are read at 293.15 K."""
    return property_of(entry).value(293.15)

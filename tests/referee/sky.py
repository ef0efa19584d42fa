"""Surroundings that move: ways around the Sun and around a planet, shadow, tilt (theory, 3a and 3b), from docs/theory.md alone.

Eight values per instant, in W/m2, reach a tile: sunlight on front and rear, the same as cells use it, light that the planet reflects on
front and rear, its infrared on front and rear. The planet's are tabulated over the orbit by Chebyshev polynomials on pieces
that are halved until they follow to 1e-6 W/m2.
"""

import csv
import os

import numpy as np
from numpy.polynomial import chebyshev
from scipy.optimize import brentq

from planet_views import arccos, disc_in_sight, view
from quantities import ASTRONOMICAL_UNIT_M, Property, Refusal, is_yes, keys_of, quantity
from tables import Tables, larger, smaller

SUN_GRAVITY = 1.32712440018e20  # m3/s2
SUN_RADIUS_M = 6.957e8          # nominal, IAU 2015 Resolution B3
RIGHT_ANGLE = 0.5 * np.pi
DEGREE, NARROWEST, FOLLOWED = 14, 2e-4, 1e-6
EDGES_LOOKED_FOR = 4000
FRONT, REAR = 0, 1
CHANNELS = 8
SUNLIGHT, USED, ALBEDO, INFRARED = 0, 2, 4, 6


class Kepler:
    """An ellipse; angles from the nearest point, time 0 at the anomaly `first`."""

    def __init__(self, semi_major, eccentricity, gravity, first):
        self.a, self.e, self.motion = semi_major, eccentricity, np.sqrt(gravity / semi_major**3)
        self.period = 2.0 * np.pi / self.motion
        self.mean_first = self.mean_anomaly(first)

    def mean_anomaly(self, true):
        """Grows with the true anomaly through all revolutions."""
        turns = np.round(true / (2.0 * np.pi))
        rest = true - 2.0 * np.pi * turns
        E = 2.0 * np.arctan2(np.sqrt(1.0 - self.e) * np.sin(0.5 * rest), np.sqrt(1.0 + self.e) * np.cos(0.5 * rest))
        return E - self.e * np.sin(E) + 2.0 * np.pi * turns

    def time_of(self, true):
        return (self.mean_anomaly(true) - self.mean_first) / self.motion

    def at(self, time):
        """True anomaly, that of all revolutions, and distance."""
        mean = self.mean_first + self.motion * np.asarray(time, dtype=float)
        turns = np.round(mean / (2.0 * np.pi))
        rest = mean - 2.0 * np.pi * turns
        E = rest + self.e * np.sin(rest)
        for _ in range(60):
            change = (E - self.e * np.sin(E) - rest) / (1.0 - self.e * np.cos(E))
            E = np.clip(E - change, -np.pi, np.pi)
            if np.abs(change).max() < 1e-15:
                break
        true = 2.0 * np.arctan2(np.sqrt(1.0 + self.e) * np.sin(0.5 * E), np.sqrt(1.0 - self.e) * np.cos(0.5 * E))
        return true + 2.0 * np.pi * turns, self.a * (1.0 - self.e * np.cos(E))


class Orbit:
    def __init__(self, section, body, sun_distance):
        keys_of(section, "orbit", "body values albedo infrared altitude lowest highest beta inclination node_from_sun sun_declination "
                "periapsis_from_noon argument_of_periapsis start_from_noon front_to reflected")
        known = lambda key, default="0 deg": quantity(section.get(key, default))
        self.radius = quantity(body["radius"]["value"])
        if "altitude" in section:
            low = high = self.radius + quantity(section["altitude"])
        else:
            low, high = (self.radius + quantity(section[key]) for key in ("lowest", "highest"))
        noon = 0.0  # angle from the node, or from where `beta` counts
        if "beta" in section:
            self.beta, periapsis = quantity(section["beta"]), known("periapsis_from_noon")
        else:
            tilt, node, high_sun = quantity(section["inclination"]), known("node_from_sun"), known("sun_declination")
            sun = np.array([np.cos(high_sun), 0.0, np.sin(high_sun)])
            along = np.array([np.cos(node), np.sin(node), 0.0])
            ahead = np.array([-np.sin(node) * np.cos(tilt), np.cos(node) * np.cos(tilt), np.sin(tilt)])
            self.beta = float(np.arcsin(sun @ np.cross(along, ahead)))
            noon = np.arctan2(sun @ ahead, sun @ along)
            periapsis = known("argument_of_periapsis") - noon
        self.periapsis = periapsis
        self.path = Kepler(0.5 * (low + high), (high - low) / (high + low), quantity(body["gravitational_parameter"]["value"]),
                           known("start_from_noon") - periapsis)
        self.sun_distance = sun_distance
        values = section.get("values", "mean")
        pick = lambda entry: quantity(entry.get(values, entry.get("mean"))["value"])
        self.albedo = quantity(section["albedo"]) if "albedo" in section else pick(body["albedo"])
        self.night, self.everywhere = None, None
        if "infrared" in section:
            self.everywhere = quantity(section["infrared"])
        elif "infrared" in body:
            self.everywhere = pick(body["infrared"])
        else:
            self.night = quantity(body["night_infrared"]["value"])
        self.front_to, self.estimate = section.get("front_to", "sun"), section.get("reflected", "sunlit_part") == "zenith_cosine"
        self.sun = np.array([np.cos(self.beta), 0.0, np.sin(self.beta)])
        self.tables = {}

    def up(self, true):
        from_noon = true + self.periapsis
        return np.array([np.cos(from_noon), np.sin(from_noon), np.zeros_like(from_noon)])

    def front(self, true, tilt, stowed):
        """Stowed it stands edge-on to the Sun, whatever it is kept to else."""
        if self.front_to == "zenith" and not stowed:
            return self.up(true)
        if self.front_to == "nadir" and not stowed:
            return -self.up(true)
        return np.cos(tilt) * self.sun + np.sin(tilt) * np.array([-np.sin(self.beta), 0.0, np.cos(self.beta)])

    def radii(self, true, distance):
        """Angle between the middles of planet and Sun, and how large either is, as seen from the tile."""
        up = self.up(true)
        to_sun = self.sun_distance * self.sun[:, None] - distance * up
        away = np.sqrt((to_sun**2).sum(0))
        return arccos(-(to_sun * up).sum(0) / away), np.arcsin(self.radius / distance), np.arcsin(SUN_RADIUS_M / away)

    def in_sight(self, time):
        return disc_in_sight(*self.radii(*self.path.at(np.atleast_1d(time))))

    def shadow_edges(self):
        """Within the first revolution."""
        times = np.linspace(0.0, self.path.period, EDGES_LOOKED_FOR)
        edges = []
        for sign in (1.0, -1.0):
            def outside(time):
                apart, planet, sun = self.radii(*self.path.at(np.atleast_1d(time)))
                return apart - planet - sign * sun
            values = outside(times)
            edges += [brentq(lambda t: outside(t)[0], times[k], times[k + 1], xtol=1e-9)
                      for k in np.nonzero(np.signbit(values[1:]) != np.signbit(values[:-1]))[0]]
        return sorted(edges)

    # ---- what the planet sends -------------------------------------------------------------------------------------

    def fluxes(self, true, tilt, stowed, normal_sun):
        """Reflected front and rear, infrared front and rear, at one true anomaly."""
        distance = self.path.a * (1.0 - self.path.e**2) / (1.0 + self.path.e * np.cos(true))
        up, front, height = self.up(true), self.front(true, tilt, stowed), distance / self.radius
        found = np.zeros(4)
        for face, normal in ((FRONT, front), (REAR, -front)):
            whole, lit = view(up, up, height, normal, False), view(self.sun, up, height, normal, True)
            seen = whole * max(0.0, self.sun @ up) if self.estimate else lit
            found[face] = self.albedo * normal_sun * seen
            if self.night is None:
                found[2 + face] = self.everywhere * whole
            else:
                found[2 + face] = self.night * whole + ((1.0 - self.albedo) * normal_sun - 4.0 * self.night) * lit
        return found

    def fold(self, true):
        """A circle's second half mirrors the first; angles from noon then, else from the lowest point."""
        rest = np.mod(true + (self.periapsis if self.path.e == 0.0 else 0.0), 2.0 * np.pi)
        return np.minimum(rest, 2.0 * np.pi - rest) if self.path.e == 0.0 else rest

    def table(self, tilt, stowed, normal_sun):
        key = (round(float(tilt), 12), bool(stowed), normal_sun)
        if key not in self.tables:
            nodes = np.cos(np.pi * (np.arange(DEGREE + 1) + 0.5) / (DEGREE + 1))
            inverse = np.linalg.inv(chebyshev.chebvander(nodes, DEGREE))
            offset = self.periapsis if self.path.e == 0.0 else 0.0
            marks = [0.0, RIGHT_ANGLE, np.pi] + ([] if self.path.e == 0.0 else [1.5 * np.pi, 2.0 * np.pi])
            waiting, pieces = list(zip(marks[:-1], marks[1:])), []
            while waiting:
                low, high = waiting.pop()
                values = np.array([self.fluxes(0.5 * (low + high) + 0.5 * (high - low) * x - offset, tilt, stowed, normal_sun) for x in nodes])
                terms = inverse @ values
                if np.abs(terms[-3:]).max() < FOLLOWED or high - low < NARROWEST:
                    pieces.append((low, high, terms))
                else:
                    waiting += [(low, 0.5 * (low + high)), (0.5 * (low + high), high)]
            pieces.sort(key=lambda piece: piece[0])
            self.tables[key] = (np.array([p[0] for p in pieces]), np.array([p[1] for p in pieces]), np.array([p[2] for p in pieces]))
        return self.tables[key]

    def planet(self, time, tilt, stowed, normal_sun):
        """Four rows, a column per time."""
        if len(time) == 1:
            return self.fluxes(float(self.path.at(time)[0][0]), tilt, stowed, normal_sun)[:, None]
        lows, highs, terms = self.table(tilt, stowed, normal_sun)
        place = self.fold(self.path.at(time)[0])
        k = np.clip(np.searchsorted(lows, place, side="right") - 1, 0, len(lows) - 1)
        x = (2.0 * place - lows[k] - highs[k]) / (highs[k] - lows[k])
        return np.einsum("kd,kdf->fk", chebyshev.chebvander(x, DEGREE), terms[k])


def course_of(section, folder):
    """Times, distances or None, tilts or None."""
    keys_of(section, "course", "file distance tilt")
    if "file" in section:
        with open(os.path.join(folder, section["file"]), encoding="utf-8", newline="") as stream:
            rows = [[cell.strip() for cell in row] for row in csv.reader(stream) if row]
        columns = {name: np.array([quantity(f"{row[k]} {rows[1][k]}") for row in rows[2:]]) for k, name in enumerate(rows[0])}
        return columns["time"], columns.get("distance"), columns.get("tilt")
    read = {key: np.array([[quantity(cell) for cell in row] for row in section[key]]) for key in ("distance", "tilt") if key in section}
    times = next(iter(read.values()))[:, 0]
    return times, *(read[key][:, 1] if key in read else None for key in ("distance", "tilt"))


class Sky:
    """`instant`: the time whose surroundings hold for steady answers; without it they are the mean."""

    def __init__(self, case, bodies, folder, irradiance, stuck_tilt, instant=None):
        sun = keys_of(case["sun"], "sun", "distance tilt irradiance_at_1AU standard ellipse course tilt_law hold stow")
        self.at_1AU, self.instant, self.stuck = irradiance, instant, stuck_tilt
        self.law, self.tilt = sun.get("tilt_law", "fixed"), quantity(sun.get("tilt", "0 deg"))
        self.tilt = {"tracking": 0.0, "edge_on": RIGHT_ANGLE}.get(self.law, self.tilt)
        self.stow = [[quantity(cell) for cell in row] for row in sun.get("stow", [])]
        self.ellipse = self.orbit = self.course = self.hold = self.pointing = None
        self.cells_face = FRONT
        if self.law == "hold":
            hold = keys_of(sun["hold"], "hold", "node below band most_tilt")
            self.hold = [hold["node"], quantity(hold["below"]), quantity(hold.get("band", "1 K")), quantity(hold.get("most_tilt", "90 deg"))]
        if "ellipse" in sun:
            way = keys_of(sun["ellipse"], "ellipse", "perihelion aphelion start_at")
            near, far = quantity(way["perihelion"]), quantity(way["aphelion"])
            start = np.pi if way.get("start_at") == "aphelion" else 0.0
            self.ellipse = Kepler(0.5 * (near + far), (far - near) / (far + near), SUN_GRAVITY, start)
        if "course" in sun:
            self.course = course_of(sun["course"], folder)
        if "orbit" in case:
            if self.hold or self.ellipse or self.course:
                raise Refusal("around a planet the distance is fixed and the tile does not tilt by temperature")
            body = bodies[case["orbit"]["body"]]
            self.distance = quantity(sun["distance"] if "distance" in sun else body["sun_distance"]["value"])
            self.orbit = Orbit(case["orbit"], body, self.distance)
        elif "distance" in sun:
            self.distance = quantity(sun["distance"])
        self.duration, self.means = quantity(case.get("run", {}).get("duration", "24 h")), None
        self.frozen = None  # values of the instant

    def edges(self, end):
        found = [time for window in self.stow for time in window]
        if self.course:
            found += list(self.course[0])
        if self.orbit:
            first, period = self.orbit.shadow_edges(), self.orbit.path.period
            found += [edge + k * period for k in range(int(end / period) + 1) for edge in first]
        return {float(time) for time in found if 0.0 < time < end}

    # ---- one instant or many -----------------------------------------------------------------------------------------

    def normal(self, time):
        """Irradiance normal to the Sun, not regarding any shadow."""
        if self.ellipse:
            distance = self.ellipse.at(time)[1]
        elif self.course and self.course[1] is not None:
            distance = np.interp(time, self.course[0], self.course[1])
        else:
            distance = self.distance + 0.0 * time
        return self.at_1AU * (ASTRONOMICAL_UNIT_M / distance) ** 2

    def tilt_at(self, time, held):
        """`held`: temperature of the node that a tilt follows, per time."""
        tilt = self.tilt + 0.0 * time
        if self.hold:
            _, below, band, most = self.hold
            tilt = self.tilt + (most - self.tilt) * smaller(1.0, larger(0.0, 1.0 - (below - held) / band))
        elif self.law == "fixed_in_space" and self.ellipse:
            around = self.ellipse.at(time)[0] - self.ellipse.at(0.0)[0]
            tilt = np.mod(np.abs(self.tilt - around), 2.0 * np.pi)
            tilt = np.minimum(tilt, 2.0 * np.pi - tilt)
        elif self.course and self.course[2] is not None:
            tilt = np.interp(time, self.course[0], self.course[2])
        if self.stuck is not None:
            return self.stuck + 0.0 * time
        return np.where(self.stowed(time), RIGHT_ANGLE, tilt)

    def stowed(self, time):
        """An edge belongs to what comes after it."""
        inside = np.zeros(np.shape(time), dtype=bool)
        for begin, end in self.stow if self.stuck is None else []:
            inside |= (time >= begin - 1e-9) & (time < end - 1e-9)
        return inside

    def instant_values(self, time, held):
        """Eight rows, a column per time."""
        time = np.atleast_1d(np.asarray(time, dtype=float))
        normal, tilt = self.normal(time), self.tilt_at(time, held)
        found = np.zeros((CHANNELS, len(time)), dtype=complex if np.iscomplexobj(tilt) else float)
        if self.orbit:
            stowed = self.stowed(time)
            for away in np.unique(stowed):
                rows = stowed == away
                found[ALBEDO:, rows] = self.orbit.planet(time[rows], tilt[rows][0], away, float(normal[0]))
            true = self.orbit.path.at(time)[0]
            cosine = np.array([self.orbit.front(v, t, away) @ self.orbit.sun for v, t, away in zip(true, tilt, stowed)])
            normal, tilt = normal * self.orbit.in_sight(time), arccos(cosine)
        self.add_sunlight(found, normal, tilt)
        return found

    def add_sunlight(self, found, normal, tilt):
        facing = (np.cos(tilt), np.cos(np.pi - tilt))
        for face, angle in ((FRONT, tilt), (REAR, np.pi - tilt)):
            found[SUNLIGHT + face] = normal * larger(0.0 * normal, facing[face])
            if self.pointing is None:
                found[USED + face] = found[SUNLIGHT + face]
            else:
                used = np.where(angle.real > RIGHT_ANGLE, 0.0, Tables([self.pointing]).value(angle[None, :])[0])
                found[USED + face] = normal * used

    def mean_values(self):
        """Of every value over what repeats, else over the run."""
        if self.means is None:
            path = self.orbit.path if self.orbit else self.ellipse
            span = path.period if path and not self.stow else self.duration
            marks = np.unique(np.r_[np.linspace(0.0, span, 721), sorted(self.edges(span))] if self.moving() else [0.0, span])
            x, w = np.polynomial.legendre.leggauss(6)
            time = (0.5 * (marks[:-1] + marks[1:])[:, None] + 0.5 * np.diff(marks)[:, None] * x).ravel()
            weight = (0.5 * np.diff(marks)[:, None] * w).ravel() / span
            values = self.instant_values(time, 0.0 * time if self.hold else None)
            self.means = values.real @ weight, float(self.normal(time) @ weight)
        return self.means

    def moving(self):
        return bool(self.orbit or self.ellipse or self.course or self.stow)

    def values(self, clock, held, columns):
        """`clock`: times of the columns, or one for all; None for steady answers."""
        if clock is None and self.instant is None:
            means, normal = self.mean_values()
            found = np.repeat(means[:, None], columns, axis=1)
            if self.hold and self.stuck is None:
                found = found.astype(complex) if np.iscomplexobj(held) else found
                self.add_sunlight(found, np.full(columns, normal), self.tilt_at(np.zeros(columns), held) if not self.stow else self.held_tilt(held))
            return found
        if clock is None and not self.hold:
            if self.frozen is None:
                self.frozen = self.instant_values([self.instant], None)
            return np.repeat(self.frozen, columns, axis=1)
        time = np.broadcast_to(np.asarray(self.instant if clock is None else clock, dtype=float), (columns,))
        if not self.hold and columns > 1 and np.all(time == time[0]):
            return np.repeat(self.instant_values(np.repeat(time[:1], 2), None)[:, :1], columns, axis=1)  # two: by the table
        return self.instant_values(time, held)

    def held_tilt(self, held):
        _, below, band, most = self.hold
        return self.tilt + (most - self.tilt) * smaller(1.0, larger(0.0, 1.0 - (below - held) / band))


def wanted(case):
    """Whether the surroundings of a case need this file."""
    sun = case["sun"]
    turned = any(key in sun for key in ("ellipse", "course", "stow")) or sun.get("tilt_law", "fixed") != "fixed"
    return "orbit" in case or turned or any("facing" in surface for surface in case.get("surfaces", {}).values())


def facings(surface):
    """Faces of a surface that something arrives at, each of the stated area."""
    told, faces = surface.get("facing"), int(surface.get("faces", "1"))
    if told == "both":
        if faces != 2:
            raise Refusal("a surface that looks both ways has two faces")
        return [FRONT, REAR]
    if told is None:
        return [FRONT] if is_yes(surface.get("sunlit", "no")) else []
    return [FRONT if told == "front" else REAR]

"""What a planet sends to a plate, by integration over its ground, and the share of the Sun's disc in sight (theory, 3a).

From docs/theory.md alone. The ground is parted in circles about an axis: the direction to the Sun for what is lit, the zenith of
the plate for the whole. Lengths are in radii of the planet, vectors in any one frame.
"""

import numpy as np

ALONG, AROUND = 32, 24  # points of Gauss-Legendre quadrature per stretch of the polar angle, and per arc
DISC = 40


def gauss(points):
    x, w = np.polynomial.legendre.leggauss(points)
    return 0.5 * (1.0 + x), 0.5 * w


ALONG_X, ALONG_W = gauss(ALONG)
AROUND_X, AROUND_W = gauss(AROUND)
DISC_X, DISC_W = gauss(DISC)


def arccos(x):
    return np.arccos(np.clip(x, -1.0, 1.0))


def stretches(axis, up, height, normal, last):
    """Polar angles at which limb and horizon of the plate begin to cut, in order."""
    marks = [0.0, last]
    circles = [(up, arccos(1.0 / height))]
    level = height * normal @ up
    if abs(level) < 1.0:
        circles.append((normal, arccos(level)))
    for centre, radius in circles:
        away = arccos(axis @ centre)
        marks += [away, abs(away - radius), away + radius, 2.0 * np.pi - away - radius]
    across = np.cross(up, normal)
    if len(circles) == 2 and across @ across > 1e-20:
        # Where both circles cross.
        cosine = up @ normal
        a, b = np.linalg.solve([[1.0, cosine], [cosine, 1.0]], [1.0 / height, level])
        rest = 1.0 - (a * up + b * normal) @ (a * up + b * normal)
        if rest > 0.0:
            for sign in (1.0, -1.0):
                point = a * up + b * normal + sign * np.sqrt(rest / (across @ across)) * across
                marks.append(arccos(axis @ point))
    return np.unique([mark for mark in marks if 0.0 <= mark <= last])


def view(axis, up, height, normal, lit):
    """Integral over the ground in sight of the view factor, with `lit` times max(0, cosine of the angle to the axis)."""
    last = 0.5 * np.pi if lit else arccos(1.0 / height)
    marks = stretches(axis, up, height, normal, last)
    e1 = up - (up @ axis) * axis
    if np.linalg.norm(e1) < 1e-12:
        e1 = np.cross(axis, [0.3, 0.5, 0.8])
    e1 = e1 / np.linalg.norm(e1)
    e2 = np.cross(axis, e1)
    # Crowded at both ends of every stretch, where arcs begin with a square root.
    width = np.diff(marks)[:, None]
    polar = (marks[:-1, None] + width * 0.5 * (1.0 - np.cos(np.pi * ALONG_X))).ravel()
    weight = (width * 0.5 * np.pi * np.sin(np.pi * ALONG_X) * ALONG_W).ravel()
    c, s = np.cos(polar), np.sin(polar)

    def arc(vector, level):
        """Middle and half width of the azimuths at which ground . vector > level."""
        along, across = vector @ axis, np.hypot(vector @ e1, vector @ e2)
        with np.errstate(divide="ignore", invalid="ignore"):
            cosine = (level - c * along) / (s * across)
        cosine = np.where(np.isnan(cosine), 1.0, cosine)
        return np.arctan2(vector @ e2, vector @ e1), arccos(cosine)

    _, limb = arc(up, 1.0 / height)
    middle, horizon = arc(normal, height * normal @ up)
    total = 0.0
    for turn in (-2.0 * np.pi, 0.0, 2.0 * np.pi):
        low, high = np.maximum(-limb, middle - horizon + turn), np.minimum(limb, middle + horizon + turn)
        for side in ((low, np.minimum(high, 0.0)), (np.maximum(low, 0.0), high)):
            length = np.maximum(side[1] - side[0], 0.0)
            if not length.any():
                continue
            azimuth = side[0][:, None] + length[:, None] * AROUND_X
            ground = (c[:, None, None] * axis + s[:, None, None] * (np.cos(azimuth)[..., None] * e1 + np.sin(azimuth)[..., None] * e2))
            to_plate = height * up - ground
            kernel = np.maximum((ground * to_plate).sum(-1), 0.0) * np.maximum(-(to_plate @ normal), 0.0) / (to_plate**2).sum(-1) ** 2
            total += (weight * s * (c if lit else 1.0) * length) @ (kernel @ AROUND_W)
    return total / np.pi


def disc_in_sight(apart, planet, sun):
    """Share of the Sun's disc of angular radius `sun` that a planet of angular radius `planet` leaves, `apart` from it; rings about its middle."""
    apart, planet, sun = np.broadcast_arrays(apart, planet, sun)
    share = np.where(apart >= planet + sun, 1.0, 0.0)
    for k in np.nonzero(np.abs(apart - planet) < sun)[0]:
        first = abs(apart[k] - planet[k])
        ring = first + (sun[k] - first) * DISC_X**2
        step = (sun[k] - first) * 2.0 * DISC_X * DISC_W
        hidden = arccos((np.cos(planet[k]) - np.cos(ring) * np.cos(apart[k])) / (np.sin(ring) * np.sin(apart[k]))) / np.pi
        seen = step @ (np.sin(ring) * (1.0 - hidden))
        if apart[k] > planet[k]:
            seen += 1.0 - np.cos(first)
        share[k] = seen / (1.0 - np.cos(sun[k]))
    return share

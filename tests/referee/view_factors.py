"""View factors between flat polygons that see each other fully, by an integral over one area: no contour integral.

The share of a point's emission that meets a polygon is Lambert's sum over its edges,

    F = 1/(2 pi) sum of angle_i n_i . n,     angle_i that of edge i seen from the point, n_i the normal of the plane through both,

and its mean over the other face is taken with Gauss-Legendre points on triangles, which are halved towards the polygon.
"""

import numpy as np

POINTS = 8     # along each side of a collapsed square
DEEPEST = 14   # halvings; every second one halves the size
FAR = 0.7      # a triangle is far if its distance is this many times its size


def polygon_area(corners):
    fan = [np.cross(corners[i] - corners[0], corners[i + 1] - corners[0]) for i in range(1, len(corners) - 1)]
    return 0.5 * np.linalg.norm(sum(fan))


def rule():
    x, w = np.polynomial.legendre.leggauss(POINTS)
    x, w = 0.5 * (x + 1.0), 0.5 * w
    u, v = np.meshgrid(x, x, indexing="ij")
    # (u, v) -> (u (1 - v), u v) has the Jacobian u; a triangle is half of its parallelogram.
    return np.stack([(1.0 - u).ravel(), (u * (1.0 - v)).ravel(), (u * v).ravel()], axis=1), 2.0 * np.outer(w * x, w).ravel()


BARYCENTRIC, WEIGHTS = rule()


def seen_from(points, facing, polygon):
    way = polygon[None, :, :] - points[:, None, :]
    way /= np.linalg.norm(way, axis=2, keepdims=True)
    after = np.roll(way, -1, axis=1)
    across = np.cross(way, after)
    sine = np.linalg.norm(across, axis=2)
    angle = np.arctan2(sine, (way * after).sum(axis=2))
    with np.errstate(invalid="ignore", divide="ignore"):
        share = np.where(sine > 0.0, angle * (across @ facing) / sine, 0.0)
    return np.abs(share.sum(axis=1)) / (2.0 * np.pi)


def distance_to(polygon, point):
    """From a point to the edges of a polygon: where it touches the other face, the mean has its steep places."""
    begin, side = polygon, np.roll(polygon, -1, axis=0) - polygon
    along = np.clip(((point - begin) * side).sum(axis=1) / (side**2).sum(axis=1), 0.0, 1.0)
    return np.linalg.norm(begin + along[:, None] * side - point, axis=1).min()


def sum_over(triangle, facing, polygon, depth):
    center = triangle.mean(axis=0)
    size = np.linalg.norm(triangle - center, axis=1).max()
    if depth > 0 and distance_to(polygon, center) < (1.0 + FAR) * size:
        sides = [np.linalg.norm(triangle[(i + 1) % 3] - triangle[i]) for i in range(3)]
        i = int(np.argmax(sides))
        a, b, c = (triangle[(i + k) % 3] for k in range(3))
        middle = 0.5 * (a + b)
        return sum(sum_over(np.array(half), facing, polygon, depth - 1) for half in ((a, middle, c), (middle, b, c)))
    area = 0.5 * np.linalg.norm(np.cross(triangle[1] - triangle[0], triangle[2] - triangle[0]))
    return area * (WEIGHTS @ seen_from(BARYCENTRIC @ triangle, facing, polygon))


def view_factor(first, second):
    across = np.cross(first[1] - first[0], first[2] - first[0])
    facing = across / np.linalg.norm(across)
    total = sum(sum_over(np.array([first[0], first[i], first[i + 1]]), facing, second, DEEPEST) for i in range(1, len(first) - 1))
    return total / polygon_area(first)

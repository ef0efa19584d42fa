"""Integrates  d x_s/dt = f_s(x),  0 = f_m(x)  by collocation at Radau points, many to a step, for the referees.

Hairer and Wanner 1996, Solving Ordinary Differential Equations II, section IV.5: with s points the method is of order 2 s - 1,
stiffly accurate, and algebraic equations hold at every point. A step is accepted when the last coefficients of the solution's expansion
in Legendre polynomials are below the tolerance, and so is what the equations leave over between the points, times the step: both
are far above the error at the step's end, and the second one sees kinks.
"""

import numpy as np
from numpy.polynomial import legendre
from scipy.linalg import lu_factor, lu_solve

POINTS = 6
NEWTON_STEPS = 8


def radau():
    """Points in (0, 1], the last one 1; integrals over them; and the expansion of a polynomial through 0 and all points."""
    # Zeros of P_{s} - P_{s-1}, mirrored: 1 is one of them.
    coefficients = np.zeros(POINTS + 1)
    coefficients[-1], coefficients[-2] = 1.0, -1.0
    points = np.sort(0.5 * (1.0 + np.real(legendre.legroots(coefficients))))
    points[-1] = 1.0
    powers = np.vander(points, POINTS, increasing=True)
    integrals = powers * points[:, None] / np.arange(1, POINTS + 1)
    matrix = integrals @ np.linalg.inv(powers)
    expansion = np.linalg.inv(legendre.legvander(2.0 * np.r_[0.0, points] - 1.0, POINTS))
    return points, matrix, expansion


PLACES, INTEGRALS, EXPANSION = radau()


def between():
    """Values and slopes, over 0..1, of the Legendre polynomials in the middle between points."""
    middles = 0.5 * (PLACES + np.r_[0.0, PLACES[:-1]])
    slopes = np.stack([legendre.legval(2.0 * middles - 1.0, 2.0 * legendre.legder(unit)) for unit in np.eye(POINTS + 1)], axis=1)
    return middles, legendre.legvander(2.0 * middles - 1.0, POINTS), slopes


MIDDLES, MIDDLE_VALUES, MIDDLE_SLOPES = between()
LEFT_OVER_COUNTS = 0.1


class NotConverged(Exception):
    pass


class Step:
    """A polynomial over begin..end, by its Legendre coefficients."""

    def __init__(self, begin, length, coefficients):
        self.begin, self.length, self.coefficients = begin, length, coefficients

    def at(self, time):
        return legendre.legvander(np.atleast_1d(2.0 * (time - self.begin) / self.length - 1.0), POINTS) @ self.coefficients


class Collocation:
    def __init__(self, tile, tolerance_K):
        self.tile, self.tolerance = tile, tolerance_K
        self.differential = np.zeros(tile.size, dtype=bool)
        self.differential[tile.stored] = True
        # A kink in a massless node's temperature is forgotten at once; what is stored remembers.
        self.weight = np.where(self.differential, 1.0, 0.1)

    def newton(self, x, begin, length, guess, factors):
        s, n = POINTS, len(x)
        self.tile.clock = begin + PLACES * length
        X = guess.copy()  # a column per point
        last = np.inf
        for _ in range(NEWTON_STEPS):
            F = self.tile.rates(X)
            left = np.where(self.differential[:, None], x[:, None] + length * F @ INTEGRALS.T - X, F)
            change = lu_solve(factors, left.T.ravel(), check_finite=False).reshape(s, n).T
            X = X + change
            size = np.abs(change).max()
            if not np.isfinite(size) or size > 2.0 * last or size > 500.0:
                break
            if size < 1e-3 * self.tolerance or (size < 0.1 * self.tolerance and size < 0.03 * last):
                return X
            last = size
        raise NotConverged

    def derivatives(self, x, time):
        self.tile.clock = time
        return self.tile.derivatives(x, self.tile.rates)

    def factors(self, jacobian, length):
        s, n = POINTS, len(jacobian)
        d = self.differential
        matrix = np.einsum("ij,nm->injm", -length * INTEGRALS, jacobian * d[:, None])
        own = np.diag(d.astype(float)) - jacobian * ~d[:, None]
        for i in range(s):
            matrix[i, :, i, :] += own
        return lu_factor(matrix.reshape(s * n, s * n), check_finite=False, overwrite_a=True)

    def error(self, coefficients, begin, length):
        last = (self.weight * np.abs(coefficients[-2:])).max()
        if last > 3.0 * self.tolerance:
            return last
        self.tile.clock = begin + MIDDLES * length
        left = MIDDLE_SLOPES @ coefficients - length * self.tile.rates((MIDDLE_VALUES @ coefficients).T).T
        left = LEFT_OVER_COUNTS * np.abs(left[:, self.differential]).max() if self.differential.any() else 0.0
        return max((self.weight * np.abs(coefficients[-1])).max(), 0.3 * (self.weight * np.abs(coefficients[-2])).max(), left)

    def steps(self, x, begin, end):
        """Yields the polynomial of a step, its end and the state there; a caller that has seen enough stops iterating."""
        x = np.array(x, dtype=float)
        length, time = min(end - begin, 1.0), begin
        jacobian = self.derivatives(x, begin)
        fresh, factors, old = True, None, None
        while time < end:
            length = min(length, end - time)
            if end - time < 1.5 * length and end - time > length:
                length = 0.5 * (end - time)
            if factors is None or factors[0] != length:
                factors = (length, self.factors(jacobian, length))
            ahead = time + PLACES * length
            guess = np.repeat(x[:, None], POINTS, axis=1)
            if old is not None and length < 1.2 * old.length:
                guess = old.at(ahead).T
            try:
                X = self.newton(x, time, length, guess, factors[1])
            except NotConverged:
                if not fresh:
                    jacobian, fresh, factors = self.derivatives(x, time), True, None
                else:
                    length, old = 0.3 * length, None
                    if length < 1e-9:
                        raise RuntimeError("the referee's steps have become too short") from None
                continue
            coefficients = EXPANSION @ np.vstack([x, X.T])
            error = self.error(coefficients, time, length)
            grow = 0.8 * (self.tolerance / max(error, 1e-3 * self.tolerance)) ** (1.0 / POINTS)
            # A kink cannot be smoothed out: behind a step this short it is passed.
            if error > self.tolerance and length > 1e-4:
                length *= min(0.7, max(grow, 0.1))
                continue
            old = Step(time, length, coefficients)
            time = end if end - time - length < 1e-9 else time + length
            x = X[:, -1].copy()
            yield old, time, x
            length *= min(max(grow, 0.3), 4.0)
            jacobian, fresh, factors = self.derivatives(x, time), True, None


def settle(tile, x, time=None, jumps=200):
    """Solves for the massless nodes with the stored ones held, at a time."""
    tile.clock = time
    x = np.array(x, dtype=float)
    m = tile.massless
    if not m:
        return x
    last = np.inf
    for attempt in range(jumps):
        left = tile.rates(x[:, None])[m, 0]
        change = -np.linalg.solve(tile.derivatives(x, tile.rates)[np.ix_(m, m)], left)
        size = np.abs(change).max()
        part = min(1.0, 20.0 / max(size, 1e-300)) * (0.5 if attempt > 20 and attempt % 3 == 0 else 1.0)
        x[m] += part * change
        if size < 1e-9 or (size < 1e-7 and size >= last):
            return x
        last = size
    raise RuntimeError("massless nodes not found")

"""The reference problem of the benchmark given to SciPy: scipy_solvers.py VARIANT METHOD RTOL ATOL FILE, or `steady COUNT`.

Writes the temperatures at 0, 100, ... 86400 s as doubles to FILE and prints `seconds steps events` of the integration, set-up and
imports not counted. Every switch of sun and beam ends a call of solve_ivp, and so does the throttle, as an event. The rates are
vectorised: a linear and a quartic matrix and a few scalars; the Jacobian is analytic."""

import math
import sys
import time

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import root

NAMES = ("CGA CGB CLA CLB FFA FFB COA COB FBA FBB CNV BAT LJ1 LM1 LJ2 LM2 CP HPV RD1 RD2 RD3 RD4 RD5 RD6").split()
PLACE = {name: i for i, name in enumerate(NAMES)}
CAPACITY = np.array([110, 110, 60, 60, 150, 150, 100, 100, 150, 150, 400, 2500, 4, 250, 4, 250, 800, 0.5] + 6 * [150.0])
CONDUCTANCE = ("CGA-CLA 400, CLA-FFA 300, FFA-COA 60, COA-FBA 60, CGB-CLB 400, CLB-FFB 300, FFB-COB 60, COB-FBB 60, CGA-CGB 0.001, "
               "CLA-CLB 0.05, FFA-FFB 0.3, COA-COB 0.02, FBA-FBB 0.3, FBA-CNV 2, FBB-BAT 0.5, BAT-CNV 0.2, CNV-CP 3, BAT-CP 0.3, "
               "LJ1-LM1 8, LJ2-LM2 7.5, LM1-CP 12, LM2-CP 11, CP-HPV 60, HPV-RD1 8, HPV-RD2 8, HPV-RD3 8, HPV-RD4 8, HPV-RD5 8, "
               "HPV-RD6 8, RD1-RD2 0.4, RD2-RD3 0.4, RD3-RD4 0.4, RD4-RD5 0.4, RD5-RD6 0.4")
EXCHANGE = ("FBA-RD1 0.015, FBA-RD2 0.015, FBA-RD3 0.015, FBB-RD4 0.015, FBB-RD5 0.015, FBB-RD6 0.015, CNV-FBA 0.02, BAT-FBB 0.02, "
            "LM1-FBA 0.005, LM2-FBB 0.005, CNV-RD1 0.005, BAT-RD6 0.005, CP-FBA 0.02, CP-FBB 0.02")
SIGMA = 5.670374419e-8
N = 24
CELLS = [2, 3]
JUNCTIONS = [12, 14]
CONVERTER, BATTERY, CHARGE = 10, 11, 24
THRESHOLDS = {"R": (333.15, 321.15), "R0": (400.0, 321.15), "Rc": (333.15, 328.15)}
HORIZON, SAMPLE = 86400.0, 100.0


def matrix_of(text):
    matrix = np.zeros((N, N))
    for link in text.split(", "):
        ends, value = link.split()
        a, b = (PLACE[end] for end in ends.split("-"))
        matrix[a, b] += float(value)
        matrix[b, a] += float(value)
        matrix[a, a] -= float(value)
        matrix[b, b] -= float(value)
    return matrix


SPACE = np.zeros(N)
SPACE[[0, 1]] = 0.425
SPACE[[8, 9]] = 0.16
SPACE[18:] = 0.088 * 0.55 / 0.6
LINEAR = matrix_of(CONDUCTANCE)
QUARTIC = SIGMA * (matrix_of(EXCHANGE) - np.diag(SPACE))
CONSTANT = np.zeros(N)
CONSTANT[[8, 9]] = 20.0
CONSTANT[18:] = 5.0
SUNLIT = np.zeros(N)
SUNLIT[[0, 1]] = 0.04 * 1361 * 0.5
SUNLIT[[2, 3]] = 0.86 * 1361 * 0.5
PEAK = 1361 * 0.5 * 0.32


BOTH = np.hstack([LINEAR, QUARTIC])
DARK, LIT = CONSTANT.copy(), CONSTANT + SUNLIT


class Chain:
    """Plain floats: faster than arrays of two."""

    def __init__(self, sun, laser, y, charge):
        demand = (2 * laser * 1.05 + 15) / 0.96
        x = min(max((100 - charge) / 5, 0.0), 1.0)
        f = x * x * (3 - 2 * x)
        f_slope = -6 * x * (1 - x) / 5 if 0 < x < 1 else 0.0
        peak = sun * PEAK
        self.drawn, self.by_cells, self.by_charge = [], [], []
        for k in CELLS:
            p = peak * (1 - 0.002 * (float(y[k]) - 301.15))
            short = p < demand / 2
            least = p if short else demand / 2
            self.drawn.append(f * p + (1 - f) * least)
            self.by_cells.append(-0.002 * peak * (1.0 if short else f))
            self.by_charge.append(f_slope * (p - least))
        self.sum = self.drawn[0] + self.drawn[1]
        self.net = 0.96 * self.sum - 2 * laser * 1.05 - 15
        self.laser = laser
        self.share = [0.5 * math.exp((298.15 - float(y[k])) / 180) for k in JUNCTIONS]


def heat(sun, chain, T, battery_acts):
    square = T * T
    q = BOTH @ np.concatenate((T, square * square))
    q += LIT if sun else DARK
    q[2] -= chain.drawn[0]
    q[3] -= chain.drawn[1]
    q[CONVERTER] += 0.04 * chain.sum + 0.1 * chain.laser + 15
    q[12] += chain.laser * (1 - chain.share[0])
    q[14] += chain.laser * (1 - chain.share[1])
    if battery_acts:
        q[BATTERY] += 2.5e-4 * chain.net**2
    return q


def heat_jacobian(chain, T, battery_acts):
    J = LINEAR + QUARTIC * (4 * T**3)
    for k in range(2):
        cells, junction = CELLS[k], JUNCTIONS[k]
        J[cells, cells] -= chain.by_cells[k]
        J[CONVERTER, cells] += 0.04 * chain.by_cells[k]
        J[junction, junction] += chain.laser * chain.share[k] / 180
        if battery_acts:
            J[BATTERY, cells] += 5e-4 * chain.net * 0.96 * chain.by_cells[k]
    return J


def transient(variant, method, rtol, atol):
    high, low = THRESHOLDS[variant]
    y = np.full(N + 1, 290.0)
    y[CHARGE] = 70.0
    samples = [y[:N].copy()]
    t, throttled, steps, events = 0.0, False, 0, 0
    begin = time.perf_counter()
    while t < HORIZON - 1e-6:
        now = t + 1e-6
        sun = 1.0 if now % 5700 < 3600 else 0.0
        beam = now % 600 < 300
        laser = (100.0 if throttled else 200.0) if beam else 0.0
        orbit = 5700 * np.floor(now / 5700)
        stop = min(300 * (np.floor(now / 300) + 1), orbit + (3600 if now - orbit < 3600 else 5700), HORIZON)

        def rates(_, y):
            chain = Chain(sun, laser, y, y[CHARGE])
            out = np.empty(N + 1)
            out[:N] = heat(sun, chain, y[:N], True) / CAPACITY
            out[CHARGE] = 100 / 1.44e6 * (chain.net - 2.5e-4 * chain.net**2)
            return out

        def jacobian(_, y):
            chain = Chain(sun, laser, y, y[CHARGE])
            J = np.zeros((N + 1, N + 1))
            J[:N, :N] = heat_jacobian(chain, y[:N], True)
            J[CELLS, CHARGE] -= chain.by_charge
            by_charge = chain.by_charge[0] + chain.by_charge[1]
            J[CONVERTER, CHARGE] += 0.04 * by_charge
            J[BATTERY, CHARGE] += 5e-4 * chain.net * 0.96 * by_charge
            J[:N] /= CAPACITY[:, None]
            factor = 100 / 1.44e6 * (1 - 5e-4 * chain.net) * 0.96
            J[CHARGE, CELLS] = factor * np.array(chain.by_cells)
            J[CHARGE, CHARGE] = factor * by_charge
            return J

        def threshold(_, y):
            return max(float(y[12]), float(y[14])) - (low if throttled else high)

        threshold.terminal = True
        threshold.direction = -1 if throttled else 1
        first = SAMPLE * np.floor(now / SAMPLE) + SAMPLE
        at = np.arange(first, stop - 1e-6, SAMPLE)
        at = np.append(at, stop)
        solution = solve_ivp(rates, (t, stop), y, method=method, rtol=rtol, atol=atol, jac=jacobian, events=threshold, t_eval=at)
        if solution.status < 0:
            raise SystemExit(solution.message)
        steps += solution.nfev
        hit = solution.status == 1
        inside = solution.t < (solution.t_events[0][0] if hit else stop)
        samples.extend(solution.y[:N, i].copy() for i in np.flatnonzero(inside))
        if hit:
            t, y = solution.t_events[0][0], solution.y_events[0][0]
            throttled = not throttled
            events += 1
        else:
            t, y = stop, solution.y[:, -1]
            if abs(stop / SAMPLE - round(stop / SAMPLE)) < 1e-9:
                samples.append(y[:N].copy())
    return np.array(samples), time.perf_counter() - begin, steps, events


def steady(count):
    begin = time.perf_counter()
    for k in range(count):
        laser = 200 * (0.2 + 0.3 * ((k * 37) % 101) / 100)

        def balance(T):
            chain = Chain(1.0, laser, T, 100.0)
            return heat(1.0, chain, T, False), heat_jacobian(chain, T, False)

        solution = root(balance, np.full(N, 290.0), jac=True, tol=1e-12)
        if not solution.success and np.abs(solution.fun).max() > 1e-6:
            raise SystemExit(solution.message)
    return (time.perf_counter() - begin) / count, solution.x


if __name__ == "__main__":
    if sys.argv[1] == "steady":
        seconds, T = steady(int(sys.argv[2]))
        print(seconds, *T)
    else:
        variant, method, rtol, atol, file = sys.argv[1:]
        samples, seconds, calls, events = transient(variant, method, float(rtol), float(atol))
        samples.astype(np.float64).tofile(file)
        print(seconds, calls, events)

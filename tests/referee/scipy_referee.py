"""A second computation of a tile, written from docs/theory.md alone: steady states and the transient of a case.

    scipy_referee.py CASE MATERIALS [--steady-only] [--method LSODA|Radau|BDF]

prints JSON: `beam_off` and `beam_on` (steady temperatures by node), `time_s` and `temperature_K` (a row per output time,
a column per entry of `nodes`). Exit status 2 with a sentence on stderr for a case that it does not do (a beam that trips).

Derivatives are taken by complex steps through the very laws, so they share nothing with derivatives made otherwise.
"""

import argparse
import cmath
import json
import math
import sys

sys.dont_write_bytecode = True

import numpy as np
from scipy.integrate import solve_ivp

from case_network import FIN_POINTS, STEFAN_BOLTZMANN, Refusal, read_case, real

COMPLEX_STEP = 1e-30
RELATIVE_TOLERANCE = 1e-10
ABSOLUTE_TOLERANCE_K = 1e-8


def exp(x):
    return cmath.exp(x) if isinstance(x, complex) else math.exp(x)


def sqrt(x):
    return cmath.sqrt(x) if isinstance(x, complex) else math.sqrt(x)


def larger(a, b):
    return a if real(a) >= real(b) else b


def smaller(a, b):
    return a if real(a) <= real(b) else b


def chebyshev():
    """Derivatives over 0..1 at Chebyshev points from 0 to 1 (Trefethen 2000, Spectral Methods in MATLAB, program cheb)."""
    n = FIN_POINTS
    x = np.cos(np.pi * np.arange(n + 1) / n)
    c = np.r_[2.0, np.ones(n - 1), 2.0] * (-1.0) ** np.arange(n + 1)
    gaps = x[:, None] - x[None, :]
    matrix = np.outer(c, 1.0 / c) / (gaps + np.eye(n + 1))
    matrix -= np.diag(matrix.sum(axis=1))
    first = -2.0 * matrix  # the points run from 1 down to -1
    return first.tolist(), (first @ first).tolist()


FIRST_DERIVATIVE, SECOND_DERIVATIVE = chebyshev()


def dot(row, values):
    return sum(a * b for a, b in zip(row, values))


class Mode:
    def __init__(self, beam, drive, shares):
        self.beam, self.drive, self.shares = beam, drive, shares


class Tile:
    """Heat into every node (theory, equation 1) for one mode at a time."""

    def __init__(self, network):
        self.net = network
        self.unknown = [i for i, node in enumerate(network.nodes) if node.fixed is None]
        self.stored = [k for k, i in enumerate(self.unknown) if network.nodes[i].capacity is not None]
        self.massless = [k for k, i in enumerate(self.unknown) if network.nodes[i].capacity is None]
        self.mode = None

    def temperatures(self, x):
        temperature = [node.fixed for node in self.net.nodes]
        for k, i in enumerate(self.unknown):
            temperature[i] = x[k]
        return temperature

    def load_W(self, index):
        _, power, when, _ = self.net.loads[index]
        if when == "always":
            return power
        if when == "beam_on":
            return power * self.mode.drive if self.mode.beam else 0.0
        if when == "beam_off":
            return 0.0 if self.mode.beam else power
        return power * self.mode.shares[index]

    def heat(self, x):
        """h_i for every unknown node."""
        net = self.net
        T = self.temperatures(x)
        h = [0.0] * len(net.nodes)
        for i, power in net.sun:
            h[i] += power
        for index, load in enumerate(net.loads):
            h[load[0]] += self.load_W(index)
        for i, area in net.to_space:
            h[i] -= STEFAN_BOLTZMANN * area * (T[i] ** 4 - net.space**4)

        for i, area in net.louvres:
            h[i] -= STEFAN_BOLTZMANN * area.value(T[i]) * (T[i] ** 4 - net.space**4)
        for fin in net.fins:
            self.add_fin(fin, T, h)

        def carry(a, b, q):
            h[a] -= q
            h[b] += q

        for a, b, conductance in net.conductances:
            carry(a, b, conductance * (T[a] - T[b]))
        for a, b, bar in net.bars:
            carry(a, b, bar.integral(T[a]) - bar.integral(T[b]))
        for a, b, half_a, half_b, contact in net.layers:
            carry(a, b, (T[a] - T[b]) / (1.0 / half_a.value(T[a]) + 1.0 / half_b.value(T[b]) + contact))
        for a, b, area in net.infrared:
            carry(a, b, STEFAN_BOLTZMANN * area * (T[a] ** 4 - T[b] ** 4))
        if net.cells:
            self.add_chain(T, h)
        return [h[i] for i in self.unknown]

    @staticmethod
    def add_fin(fin, T, h):
        """Collocation of k t T'' = s sigma (T^4 - Ts^4): what is left over at a point is the heat of its node."""
        root, nodes, width, length, sheet, emittance, sink = fin
        profile = [T[root]] + [T[i] for i in nodes]
        conductance = sheet.value(T[root])
        h[root] += width * conductance / length * dot(FIRST_DERIVATIVE[0], profile)
        for k, i in enumerate(nodes[:-1], start=1):
            emitted = STEFAN_BOLTZMANN * emittance * (profile[k] ** 4 - sink**4)
            h[i] += conductance / length**2 * dot(SECOND_DERIVATIVE[k], profile) - emitted
        h[nodes[-1]] += conductance / length**2 * dot(FIRST_DERIVATIVE[-1], profile)

    def demand_W(self, bank, drive):
        if "diode" in bank:
            diode = bank["diode"]
            current = drive * diode["rated_current"]
            return bank["modules"] * current * (diode["turn_on"] + diode["series_resistance"] * current)
        return bank["modules"] * bank["rated_input"] * drive

    @staticmethod
    def light_W(bank, power, junction):
        one = power / bank["modules"]
        if "diode" not in bank:
            return power * bilinear(bank["grid"], junction, one / bank["rated_input"])
        diode = bank["diode"]
        voltage, resistance = diode["turn_on"], diode["series_resistance"]
        current = 2.0 * one / (voltage + sqrt(voltage**2 + 4.0 * resistance * one))
        warmer = junction - diode["at"]
        threshold = diode["threshold"] * exp(warmer / diode["threshold_T0"])
        slope = smaller(diode["slope"] * exp(-warmer / diode["slope_T1"]), diode["turn_on"])
        return bank["modules"] * larger(slope * (current - threshold), 0.0)

    def throttle(self, T):
        factor = 1.0
        for node, begin, end in self.net.throttles:
            factor = smaller(factor, larger(0.0, smaller(1.0, (end - T[node]) / (end - begin))))
        return factor

    def add_chain(self, T, h):
        net, cells = self.net, self.net.cells
        efficiency = larger(cells["efficiency"] * (1.0 + cells["slope"] * (T[cells["node"]] - cells["reference"])), 0.0)
        available = cells["power"] * efficiency
        drive = self.mode.drive * self.throttle(T) if self.mode.beam else 0.0
        demands = [self.demand_W(bank, drive) for bank in net.banks]
        demand = sum(demands)

        surplus = available - net.standby
        linear = 1.0 + net.proportional
        most = 0.0
        if real(surplus) > 0.0:
            most = 2.0 * surplus / (linear + sqrt(linear**2 + 4.0 * net.quadratic * surplus))
        wanted = demand + net.housekeeping
        if real(surplus) >= 0.0 and real(wanted) <= real(most):
            house, laser = net.housekeeping, demand
            loss = net.standby + net.proportional * wanted + net.quadratic * wanted**2
            drawn = wanted + loss
        else:
            house = smaller(net.housekeeping, most)
            laser, drawn, loss = most - house, available, available - most

        if cells["shunt"] is None:
            h[cells["node"]] -= drawn
        else:
            h[cells["node"]] -= available
            h[cells["shunt"]] += available - drawn
        h[net.conditioning_node] += loss
        if net.housekeeping_node is not None:
            h[net.housekeeping_node] += house
        light = 0.0
        for bank, asked in zip(net.banks, demands):
            power = asked * laser / demand if real(demand) > 0.0 else 0.0
            lit = self.light_W(bank, power, T[bank["node"]])
            h[bank["node"]] += power - lit
            light += lit
        if net.optics_node is not None:
            h[net.optics_node] += (1.0 - net.transmission) * light

    def rates(self, x):
        """dT/dt of stored nodes, and h of massless ones (which must be zero)."""
        values = self.heat(x)
        for k in self.stored:
            values[k] = values[k] / self.net.nodes[self.unknown[k]].capacity.value(x[k])
        return values

    def derivatives(self, x, function):
        columns = []
        for k in range(len(x)):
            moved = list(map(complex, x))
            moved[k] += 1j * COMPLEX_STEP
            columns.append([value.imag if isinstance(value, complex) else 0.0 for value in function(moved)])
        return np.array(columns).T / COMPLEX_STEP

    def trips(self, x):
        """Whether a node that would trip the beam is too hot."""
        T = self.temperatures(x)
        return self.mode.beam and any(T[node] > bound for node, bound in self.net.trips)


def bilinear(grid, temperature, drive):
    temperatures, drives, values = grid

    def place(axis, x):
        if real(x) <= axis[0]:
            return 0, 0, 0.0
        if real(x) >= axis[-1]:
            return len(axis) - 1, len(axis) - 1, 0.0
        i = 0
        while axis[i + 1] < real(x):
            i += 1
        return i, i + 1, (x - axis[i]) / (axis[i + 1] - axis[i])

    r0, r1, u = place(temperatures, temperature)
    c0, c1, v = place(drives, drive)
    cold = (1.0 - v) * values[r0, c0] + v * values[r0, c1]
    hot = (1.0 - v) * values[r1, c0] + v * values[r1, c1]
    return (1.0 - u) * cold + u * hot


class Reduced:
    """The stored nodes alone: massless ones are solved for inside, by Newton's method from the last solution."""

    LAST_CHANGE_K = 1e-7  # what is left after a change of this size is of its square, or a hundredth with old derivatives

    def __init__(self, tile, x):
        self.tile = tile
        self.s, self.m = tile.stored, tile.massless
        self.x = np.array(x, dtype=float)  # the last full state
        self.inverse = None                # of d h_m / d x_m
        self.follow = None                 # d x_m / d x_s
        self.across = None                 # d rate_s / d x_m

    def refresh(self):
        jacobian = self.tile.derivatives(self.x.tolist(), self.tile.rates)
        if self.m:
            self.inverse = np.linalg.inv(jacobian[np.ix_(self.m, self.m)])
            self.follow = -self.inverse @ jacobian[np.ix_(self.m, self.s)]
            self.across = jacobian[np.ix_(self.s, self.m)]
        return jacobian

    def complete(self, stored):
        """Makes the full state of the temperatures of the stored nodes, and returns their rates."""
        if not self.m:
            self.x[self.s] = stored
            return np.array(self.tile.rates(self.x.tolist()))
        if self.inverse is None:
            self.refresh()
        self.x[self.m] += self.follow @ (stored - self.x[self.s])
        self.x[self.s] = stored
        last = math.inf
        for attempt in range(100):
            values = np.array(self.tile.rates(self.x.tolist()))
            change = -self.inverse @ values[self.m]
            size = np.abs(change).max()
            if size > 0.5 * last:  # the old derivatives do not serve here
                self.refresh()
                change = -self.inverse @ values[self.m]
                size = np.abs(change).max()
                change *= min(1.0, 20.0 / size) * (0.5 if attempt > 20 and attempt % 3 == 0 else 1.0)
            self.x[self.m] += change
            if size < self.LAST_CHANGE_K:
                return values[self.s] + self.across @ change
            last = size
        raise RuntimeError("massless nodes not found")

    def slope(self, _, stored):
        return self.complete(stored)

    def jacobian(self, _, stored):
        self.complete(stored)
        full = self.refresh()
        reduced = full[np.ix_(self.s, self.s)]
        if self.m:
            reduced = reduced + full[np.ix_(self.s, self.m)] @ self.follow
        return reduced


def integrate(tile, x, begin, end, times, method, relative, absolute):
    """States at `times` (ascending, within begin..end) and at the end."""
    reduced = Reduced(tile, x)
    stored = np.array(x)[tile.stored]
    solution = solve_ivp(reduced.slope, (begin, end), stored, method=method, t_eval=sorted({*times, end}),
                         jac=reduced.jacobian, rtol=relative, atol=absolute)
    if not solution.success:
        raise RuntimeError(solution.message)
    states = {}
    for k, time in enumerate(solution.t):
        reduced.complete(solution.y[:, k])
        states[float(time)] = reduced.x.copy()
        if tile.trips(reduced.x):
            raise Refusal(f"the beam trips at about {time} s: the referee has no trip")
    return states


def settle_massless(tile, x):
    if tile.massless:
        reduced = Reduced(tile, x)
        reduced.complete(np.array(x)[tile.stored])
        return reduced.x
    return np.array(x, dtype=float)


def steady(tile):
    """Follows the transient for a long time, then takes Newton steps."""
    net = tile.net
    fixed = [node.fixed for node in net.nodes if node.fixed is not None]
    heat = sum(power for _, power in net.sun) + sum(tile.load_W(k) for k in range(len(net.loads)))
    area = sum(area for _, area in net.to_space) + sum(area.rows[-1] for _, area in net.louvres)
    area += sum(fin[2] * fin[3] * fin[5] for fin in net.fins)
    guess = sum(fixed) / len(fixed) if fixed else max(5.0, (max(0.0, heat) / (STEFAN_BOLTZMANN * area)) ** 0.25)
    x = np.full(len(tile.unknown), guess)
    long = 3e6
    if tile.stored:
        x = integrate(tile, settle_massless(tile, x), 0.0, long, [], "LSODA", 1e-7, 1e-6)[long]
    for _ in range(50):
        jacobian = tile.derivatives(x.tolist(), tile.heat)
        change = np.linalg.solve(jacobian, -np.array(tile.heat(x.tolist())))
        x = x + change * min(1.0, 20.0 / max(np.abs(change).max(), 1e-300))
        if np.abs(change).max() < 1e-9:
            return x
    raise RuntimeError("no steady state found")


def on_after(pattern, time):
    on, every, first = pattern
    time += 1e-12 * max(1.0, abs(time))
    if time < first:
        return False
    return on >= every or (time - first) % every < on


def edges_of(pattern, end):
    on, every, first = pattern
    edges, n = [first], 0
    while on < every and on > 0.0 and first + n * every <= end:
        edges += [first + n * every, first + n * every + on]
        n += 1
    return edges


class Referee:
    def __init__(self, network, method):
        self.net, self.tile, self.method = network, Tile(network), method

    def steady_state(self, beam):
        drive = self.net.beam[0] if self.net.beam else 0.0
        shares = [load[3][0] / load[3][1] if load[3] else 0.0 for load in self.net.loads]
        self.tile.mode = Mode(beam, drive, shares)
        return steady(self.tile)

    def set_mode_after(self, time):
        beam = self.net.beam is not None and (self.net.beam[1] is None or on_after(self.net.beam[1], time))
        shares = [1.0 if load[3] and on_after(load[3], time) else 0.0 for load in self.net.loads]
        self.tile.mode = Mode(beam, self.net.beam[0] if self.net.beam else 0.0, shares)

    def start(self):
        if self.net.start_from != "temperature":
            return self.steady_state(self.net.start_from == "beam_on_balance")
        own = [self.net.nodes[i].start for i in self.tile.unknown]
        return np.array([self.net.start if value is None else value for value in own])

    def run(self):
        net, tile = self.net, self.tile
        x = self.start()
        edges = {0.0, net.duration}
        for pattern in [net.beam[1] if net.beam else None] + [load[3] for load in net.loads]:
            edges.update(edge for edge in (edges_of(pattern, net.duration) if pattern else []) if edge < net.duration)
        edges = sorted(edges)
        rows = [k * net.output_every for k in range(int(net.duration / net.output_every + 1e-9) + 1)]
        result = {}
        for begin, end in zip(edges, edges[1:]):
            self.set_mode_after(begin)
            x = settle_massless(tile, x)
            inside = [time for time in rows if begin < time < end]
            if begin in rows:
                result[begin] = x.copy()
            states = integrate(tile, x, begin, end, inside, self.method, RELATIVE_TOLERANCE, ABSOLUTE_TOLERANCE_K)
            x = states[end]
            for time in inside:
                result[time] = states[time]
        if net.duration in rows:
            result[net.duration] = x
        return result


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("case")
    parser.add_argument("materials")
    parser.add_argument("--steady-only", action="store_true")
    parser.add_argument("--method", default="LSODA", choices=["LSODA", "Radau", "BDF"])
    options = parser.parse_args()
    try:
        network = read_case(options.case, options.materials)
        referee = Referee(network, options.method)
        shown = [i for i, node in enumerate(network.nodes) if node.name != "#"]
        names = [network.nodes[i].name for i in shown]
        answer = {"nodes": names}

        def seen(x):
            T = referee.tile.temperatures(x.tolist())
            return [T[i] for i in shown]

        for key, beam in (("beam_off", False), ("beam_on", True)):
            if not beam or network.beam:
                x = referee.steady_state(beam)
                answer[key] = dict(zip(names, seen(x)))
        if not options.steady_only:
            rows = referee.run()
            answer["time_s"] = sorted(rows)
            answer["temperature_K"] = [seen(rows[time]) for time in answer["time_s"]]
    except Refusal as refusal:
        print(f"scipy_referee: {refusal}", file=sys.stderr)
        return 2
    json.dump(answer, sys.stdout)
    return 0


if __name__ == "__main__":
    sys.exit(main())

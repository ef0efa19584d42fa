"""A second computation of a tile, written from docs/theory.md alone: steady states and the transient of a case.

    scipy_referee.py CASE MATERIALS [--steady-only] [--at TIME] [--tolerance KELVIN] [--books]

prints JSON: `beam_off` and `beam_on` (steady temperatures by node), `time_s` and `temperature_K` (a row per output time,
a column per entry of `nodes`), with a battery `battery_charge` (a share), with stores `melted_share`, and `events`: located
switchings as [time, what, of]. `--at`: steady states in the surroundings of that instant, else in their mean. `--books` adds `light_J`
and the `extremes` of every node, of polynomials, in kelvin and seconds. Exit status 2 with a sentence on stderr for a case that it does not do.

Laws: tile_laws.py and power_chain.py; derivatives by complex steps; integration by collocation.py.
"""

import argparse
import json
import os
import sys

sys.dont_write_bytecode = True
os.environ["OPENBLAS_NUM_THREADS"] = "1"  # small matrices: threads only cost

import numpy as np
from scipy.optimize import brentq

from case_network import read_case
from collocation import Collocation, settle
from quantities import STEFAN_BOLTZMANN, Refusal, quantity
from tile_laws import Mode, Tile

TOLERANCE_K = 1e-6
LENT_CAPACITY = 5.0   # J/K
SAMPLES = 9           # per step, between which an event is looked for
SAME_INSTANT_S = 1e-9


def pseudo_transient(tile, x):
    """Follows the transient with linearly implicit steps that grow."""
    # Massless nodes are lent a heat capacity: the state that is reached has no part in it.
    lent = np.ones((tile.size, 1))
    lent[tile.massless] = 1.0 / LENT_CAPACITY
    length = 0.1
    # A tilt that holds a temperature turns within a few kelvin: no step may leap over them.
    most = 0.25 * tile.net.sky.hold[2] if tile.held is not None else 30.0
    for _ in range(4000):
        slope, jacobian = lent[:, 0] * tile.rates(x[:, None])[:, 0], lent * tile.derivatives(x, tile.rates)
        change = np.linalg.solve(np.eye(tile.size) - length * jacobian, length * slope)
        size = np.abs(change).max()
        if size > most and length > 1e-3:
            length *= 0.25
            continue
        x = x + change * min(1.0, most / max(size, 1e-300))
        # Steps without bound would be Newton's method, which can go to and fro across kinks for ever.
        length *= 3.0 if size < most / 6.0 and length < 1e4 else 1.0
        if length > 1e4 and size < 1e-6:
            return x
    raise RuntimeError("no steady state found")


def steady(tile):
    """A steady state, as a state."""
    net = tile.net
    fixed = [node.fixed for node in net.nodes if node.fixed is not None]
    heat = sum(power for _, power in net.sun) + sum(tile.takes_up @ net.sky.values(None, np.array([273.15]), 1)[:, 0]) if net.sky else (
        sum(power for _, power in net.sun))
    heat += sum(tile.load_W(k) for k in range(len(net.loads)))
    area = sum(area for _, area in net.to_space) + sum(area.rows[-1] for _, area in net.louvres)
    area += sum(fin[2] * fin[3] * fin[5] for fin in net.fins)
    guess = sum(fixed) / len(fixed) if fixed else max(5.0, (max(0.0, heat) / (STEFAN_BOLTZMANN * area)) ** 0.25)
    tile.clock = None
    x = tile.state_of([guess] * len(tile.unknown), net.battery["start"] if net.battery else None)
    # The battery rests: its charge is as given, and no unknown.
    tile.resting = True
    try:
        x = pseudo_transient(tile, x)
        for _ in range(50):
            change = np.linalg.solve(tile.derivatives(x, tile.heat), -tile.heat(x[:, None])[:, 0])
            x = x + change * min(1.0, 20.0 / max(np.abs(change).max(), 1e-300))
            if np.abs(change).max() < 1e-9:
                return x
    finally:
        tile.resting = False
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


class Control:
    """What is switched by temperatures: thermostats and trips."""

    def __init__(self, network, temperatures):
        self.heaters = [1.0 if self.sensed(heater, temperatures) < heater["on"] else 0.0 for heater in network.heaters]
        self.trips = [None] * len(network.trips)  # or the earliest time of coming back

    @staticmethod
    def sensed(heater, T):
        return sum(share * T[node] for node, share in heater["sensors"])

    def watch(self, network, beam, time):
        """(function of temperatures that rises through zero, what happens, index)."""
        found = []
        for k, heater in enumerate(network.heaters):
            if heater["stuck"] is None and self.heaters[k]:
                found.append((lambda T, h=heater: self.sensed(h, T) - h["off"], "heater_off", k))
            elif heater["stuck"] is None:
                found.append((lambda T, h=heater: h["on"] - self.sensed(h, T), "heater_on", k))
        for k, (node, below, reset, _, _) in enumerate(network.trips):
            if self.trips[k] is None and beam:
                found.append((lambda T, n=node, b=below: T[n] - b, "trip", k))
            elif self.trips[k] is not None and time >= self.trips[k] - SAME_INSTANT_S:
                found.append((lambda T, n=node, r=reset: r - T[n], "trip_reset", k))
        return found

    def happen(self, network, what, k, time):
        if what in ("heater_on", "heater_off"):
            self.heaters[k] = 1.0 if what == "heater_on" else 0.0
            return network.heaters[k]["name"]
        self.trips[k] = time + network.trips[k][3] if what == "trip" else None
        return network.nodes[network.trips[k][0]].name


class Referee:
    def __init__(self, read, tolerance=TOLERANCE_K):
        """`read`: from a time to the network as it is then."""
        self.read, self.tolerance = read, tolerance
        self.net = read(0.0)
        self.tile = Tile(self.net)
        self.events, self.control = [], None
        self.light_J, self.extremes = None, {}

    def steady_state(self, beam):
        drive = self.net.beam[0] if self.net.beam else 0.0
        shares = [load[3][0] / load[3][1] if load[3] else 0.0 for load in self.net.loads]
        self.tile.mode = Mode(beam, drive, shares)
        return steady(self.tile)

    def start(self):
        if self.net.start_from != "temperature":
            return self.steady_state(self.net.start_from == "beam_on_balance")
        own = [self.net.nodes[i].start for i in self.tile.unknown]
        return self.tile.state_of([self.net.start if value is None else value for value in own], self.net.battery and self.net.battery["start"])

    def set_mode(self, time):
        net = self.net
        beam = net.beam is not None and (net.beam[1] is None or on_after(net.beam[1], time))
        drive = net.beam[0] if net.beam else 0.0
        for trip, back in zip(net.trips, self.control.trips):
            if back is not None:
                beam, drive = beam and trip[4] > 0.0, min(drive, net.beam[0] * trip[4])
        shares = [1.0 if load[3] and on_after(load[3], time) else 0.0 for load in net.loads]
        self.tile.mode = Mode(beam, drive, shares, self.control.heaters, battery=True)

    def edges(self):
        edges = {0.0, self.net.duration}
        for pattern in [self.net.beam[1] if self.net.beam else None] + [load[3] for load in self.net.loads]:
            edges.update(edge for edge in (edges_of(pattern, self.net.duration) if pattern else []) if edge < self.net.duration)
        if self.net.sky:
            edges.update(self.net.sky.edges(self.net.duration))
        edges.update(time for time in self.net.failures if 0.0 < time < self.net.duration)
        return sorted(edges)

    def run(self):
        """States at the output times."""
        x = self.start()
        every, end = self.net.output_every, self.net.duration
        rows = np.arange(int(end / every + 1e-9) + 1) * every
        result, edges, time, read_at = {}, self.edges()[1:], 0.0, 0.0
        self.control = Control(self.net, self.tile.temperatures(x))
        while time < end - SAME_INSTANT_S:
            if any(read_at < failure <= time + SAME_INSTANT_S for failure in self.net.failures):
                self.net, read_at = self.read(time), time
                self.tile = Tile(self.net)
            self.set_mode(time)
            x = settle(self.tile, x, time)
            if np.any(np.abs(rows - time) < SAME_INSTANT_S):
                result[float(rows[np.argmin(np.abs(rows - time))])] = x.copy()
            # Where a control's condition holds at once, it acts at once.
            until = min(edge for edge in edges if edge > time + SAME_INSTANT_S)
            until = min([until] + [back for back in self.control.trips if back is not None and back > time + SAME_INSTANT_S])
            time, x = self.advance(x, time, until, rows, result)
        result[float(end)] = x
        return {time: state for time, state in result.items() if np.any(np.abs(rows - time) < 1e-6)}

    def advance(self, x, begin, end, rows, result):
        """To `end`, or to the first event before it."""
        watched = self.control.watch(self.net, self.tile.mode.beam, begin)
        at_once = [(what, k) for rises, what, k in watched if rises(self.tile.temperatures(x)) > 0.0]
        if at_once:
            for what, k in at_once:
                self.note(begin, what, k)
            return begin, x
        for step, time, state in Collocation(self.tile, self.tolerance).steps(x, begin, end):
            event = self.first_event(step, time, watched) if watched else None
            last = event[0] if event else time
            within = (rows > step.begin + SAME_INSTANT_S) & (rows < last - SAME_INSTANT_S)
            at_its_end = (np.abs(rows - time) < SAME_INSTANT_S) & (time < end) & (event is None)
            if self.light_J is not None:
                self.keep_books(step, last)
            inside = rows[within | at_its_end]
            for row, seen in zip(inside, step.at(inside) if len(inside) else []):
                result[float(row)] = seen
            if event:
                self.note(*event)
                return event[0], step.at(event[0])[0]
        return end, state

    def keep_books(self, step, end):
        """Light by Gauss-Legendre quadrature, and the extremes of every node within a step."""
        points, weights = np.polynomial.legendre.leggauss(8)
        self.tile.clock = step.begin + 0.5 * (end - step.begin) * (1.0 + points)
        self.tile.heat(step.at(self.tile.clock).T)
        self.light_J += 0.5 * (end - step.begin) * float(weights @ self.tile.chain.light_W.real)
        for place, index in enumerate(self.tile.unknown):
            turns = np.polynomial.legendre.legroots(np.polynomial.legendre.legder(step.coefficients[:, place]))
            turns = [step.begin + 0.5 * step.length * (1.0 + root.real) for root in turns if abs(root.imag) < 1e-12 and abs(root.real) < 1.0]
            for time in [step.begin, end] + [turn for turn in turns if turn < end]:
                T = self.tile.temperatures(step.at(time).T)[index, 0]
                found = self.extremes.setdefault(self.net.nodes[index].name, [T, time, T, time])
                if T < found[0]:
                    found[:2] = [float(T), float(time)]
                if T > found[2]:
                    found[2:] = [float(T), float(time)]

    def first_event(self, step, end, watched):
        times = np.linspace(step.begin, end, SAMPLES)
        T = self.tile.temperatures(step.at(times).T)
        found = []
        for rises, what, k in watched:
            values = rises(T)
            for i in range(SAMPLES - 1):
                if values[i] <= 0.0 < values[i + 1]:
                    root = brentq(lambda t: rises(self.tile.temperatures(step.at(t).T))[0], times[i], times[i + 1], xtol=1e-10)
                    found.append((root, what, k))
                    break
        return min(found) if found else None

    def note(self, time, what, k):
        self.events.append([time, what, self.control.happen(self.net, what, k, time)])


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("case")
    parser.add_argument("materials")
    parser.add_argument("--steady-only", action="store_true")
    parser.add_argument("--run-only", action="store_true")
    parser.add_argument("--at", help="such as '40 min'")
    parser.add_argument("--books", action="store_true")
    parser.add_argument("--tolerance", type=float, default=TOLERANCE_K)
    options = parser.parse_args()
    try:
        instant = quantity(options.at) if options.at else None
        referee = Referee(lambda time: read_case(options.case, options.materials, time, instant), options.tolerance)
        network = referee.net
        shown = [i for i, node in enumerate(network.nodes) if node.name != "#"]
        names = [network.nodes[i].name for i in shown]
        answer = {"nodes": names}

        def seen(x):
            T = referee.tile.temperatures(x)
            return [T[i] for i in shown]

        for key, beam in (("beam_off", False), ("beam_on", True)):
            if not options.run_only and (not beam or network.beam):
                answer[key] = dict(zip(names, seen(referee.steady_state(beam))))
        if not options.steady_only:
            referee.light_J = 0.0 if options.books else None
            rows = referee.run()
            answer["time_s"] = sorted(rows)
            answer["temperature_K"] = [seen(rows[time]) for time in answer["time_s"]]
            answer["events"] = referee.events
            if options.books:
                answer["light_J"], answer["extremes"] = referee.light_J, referee.extremes
            if network.battery:
                answer["battery_charge"] = [rows[time][-1] / 100.0 for time in answer["time_s"]]
            if network.stores:
                answer["melted_share"] = [referee.tile.melted(rows[time]) for time in answer["time_s"]]
    except Refusal as refusal:
        print(f"scipy_referee: {refusal}", file=sys.stderr)
        return 2
    json.dump(answer, sys.stdout)
    return 0


if __name__ == "__main__":
    sys.exit(main())

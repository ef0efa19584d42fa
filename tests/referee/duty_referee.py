"""Duty limits a second time, from docs/theory.md section 12 alone, on the tile of scipy_referee.py.

    duty_referee.py CASE MATERIALS FRACTION

prints JSON: `burst_s`, `recovery_s`, `rating` (drive), and `margin_K`, the smallest margin over one cycle of the case's
period once the beam has been on for FRACTION of every period so often that the cycle repeats. No fixed point is solved
for here: cycles are run until they repeat. FRACTION is the sustainable duty if that margin is zero.

It serves cases with a beam pattern, whose burst ends and whose recovery comes; loads must not have patterns.
"""

import json
import sys

sys.dont_write_bytecode = True

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from case_network import read_case
from scipy_referee import Mode, Reduced, Referee, integrate, settle_massless

RELATIVE_TOLERANCE = 1e-9
ABSOLUTE_TOLERANCE_K = 1e-8
REPEATS_K = 1e-6
LONGEST_S = 1e6
SAMPLES_PER_PHASE = 200


class DutyReferee:
    def __init__(self, network):
        network.throttles, network.trips = [], []  # neither acts in duty limits
        self.net = network
        self.drive, (_, self.period, _) = network.beam
        self.referee = Referee(network, "LSODA")
        self.tile = self.referee.tile

    def switch(self, beam):
        self.tile.mode = Mode(beam, self.drive, [0.0] * len(self.net.loads))

    def margin(self, x):
        T = self.tile.temperatures(x)
        above = [T[node] - bound for node, _, bound in self.net.limits if bound is not None]
        below = [bound - T[node] for node, bound, _ in self.net.limits if bound is not None]
        return min(above + below)

    def until(self, beam, x, function):
        """Time and state at which a function of the full state falls through zero."""
        self.switch(beam)
        reduced = Reduced(self.tile, settle_massless(self.tile, x))

        def event(_, stored):
            reduced.complete(stored)
            return function(reduced.x)

        event.terminal = True
        solution = solve_ivp(reduced.slope, (0.0, LONGEST_S), np.array(x)[self.tile.stored], method="LSODA", jac=reduced.jacobian,
                             rtol=RELATIVE_TOLERANCE, atol=ABSOLUTE_TOLERANCE_K, events=event, first_step=1e-3)
        reduced.complete(solution.y_events[0][0])
        return solution.t_events[0][0], reduced.x.copy()

    def burst_and_recovery(self, within):
        start = self.referee.start()
        self.switch(False)
        idle = settle_massless(self.tile, start)
        burst, end = self.until(True, start, self.margin)
        recovery, _ = self.until(False, end, lambda x: (x - idle).max() - within)
        return burst, recovery

    def rating(self):
        beam = self.net.beam

        def margin_at(drive):
            self.net.beam = (drive, None)
            return self.margin(self.referee.steady_state(True))

        found = 1.0 if margin_at(1.0) >= 0.0 else brentq(margin_at, 1e-3, 1.0, xtol=1e-10)
        self.net.beam = beam
        return found

    def repeated_margin(self, fraction):
        """Steps the cycle until it repeats, then the smallest margin at both ends and at samples between."""
        self.net.beam = (self.drive, None)
        x = self.referee.steady_state(False)
        while True:
            begin, least = x.copy(), np.inf
            for beam, first, last in ((True, 0.0, fraction * self.period), (False, fraction * self.period, self.period)):
                self.switch(beam)
                x = settle_massless(self.tile, x)
                samples = list(np.linspace(first, last, SAMPLES_PER_PHASE))
                states = integrate(self.tile, x, first, last, samples, "LSODA", RELATIVE_TOLERANCE, ABSOLUTE_TOLERANCE_K)
                least = min(least, self.margin(x), *(self.margin(state) for state in states.values()))
                x = states[max(states)]
            if np.abs(x - begin)[self.tile.stored].max() < REPEATS_K:
                return least


def main():
    if len(sys.argv) != 4:
        print(__doc__, file=sys.stderr)
        return 2
    network = read_case(sys.argv[1], sys.argv[2])
    duty = DutyReferee(network)
    burst, recovery = duty.burst_and_recovery(network.recovered_within)
    answer = {"burst_s": burst, "recovery_s": recovery, "rating": duty.rating(), "margin_K": duty.repeated_margin(float(sys.argv[3]))}
    json.dump(answer, sys.stdout)
    return 0


if __name__ == "__main__":
    sys.exit(main())

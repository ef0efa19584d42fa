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
from scipy.optimize import brentq

from case_network import read_case
from collocation import Collocation, settle
from scipy_referee import Mode, Referee

TOLERANCE_K = 1e-6
REPEATS_K = 1e-6
LONGEST_S = 1e6
SAMPLES_PER_STEP = 9


class DutyReferee:
    def __init__(self, read):
        self.referee = Referee(read, TOLERANCE_K)
        self.net, self.tile = self.referee.net, self.referee.tile
        self.net.throttles, self.net.trips = [], []  # neither acts in duty limits
        self.drive, (_, self.period, _) = self.net.beam

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
        x = settle(self.tile, x)
        for step, time, _ in Collocation(self.tile, TOLERANCE_K).steps(x, 0.0, LONGEST_S):
            if function(step.at(time)[0]) < 0.0:
                found = brentq(lambda t: function(step.at(t)[0]), step.begin, time, xtol=1e-10)
                return found, step.at(found)[0]
        raise RuntimeError("it does not happen")

    def burst_and_recovery(self, within):
        start = self.referee.start()
        self.switch(False)
        idle = settle(self.tile, start)
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
                x = settle(self.tile, x)
                least = min(least, self.margin(x))
                for step, time, state in Collocation(self.tile, TOLERANCE_K).steps(x, first, last):
                    least = min(least, *(self.margin(seen) for seen in step.at(np.linspace(step.begin, time, SAMPLES_PER_STEP))))
                x = state
            if np.abs(x - begin)[self.tile.stored].max() < REPEATS_K:
                return least


def main():
    if len(sys.argv) != 4:
        print(__doc__, file=sys.stderr)
        return 2
    duty = DutyReferee(lambda time: read_case(sys.argv[1], sys.argv[2], time))
    burst, recovery = duty.burst_and_recovery(duty.net.recovered_within)
    answer = {"burst_s": burst, "recovery_s": recovery, "rating": duty.rating(), "margin_K": duty.repeated_margin(float(sys.argv[3]))}
    json.dump(answer, sys.stdout)
    return 0


if __name__ == "__main__":
    sys.exit(main())

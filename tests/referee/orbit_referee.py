"""The state that repeats in every revolution, from docs/theory.md alone, by running revolutions until they repeat.

    orbit_referee.py CASE MATERIALS [REVOLUTIONS]

prints JSON: `temperature_K` by node at time 0 of the orbit, `battery_charge` in percent, `change`, the most that either changed over the
last revolution, and what its revolution does: `light_J` and `extremes`. For cases whose beam goes with the orbit.
"""

import json
import sys

sys.dont_write_bytecode = True

import numpy as np

from case_network import read_case
from scipy_referee import Referee

TOLERANCE_K = 1e-8


def main():
    revolutions = int(sys.argv[3]) if len(sys.argv) > 3 else 14
    referee = Referee(lambda time: read_case(sys.argv[1], sys.argv[2], time), TOLERANCE_K)
    net, period = referee.net, referee.net.sky.orbit.path.period
    net.output_every, net.duration = period, revolutions * period
    # Books are kept of the last revolution only.
    keep = referee.keep_books
    referee.light_J = 0.0
    referee.keep_books = lambda step, end: keep(step, end) if step.begin > (revolutions - 1) * period - 1.0 else None
    rows = referee.run()
    times = sorted(rows)
    states = np.array([rows[time] for time in times])
    shown = [(i, node.name) for i, node in enumerate(net.nodes)]
    T = referee.tile.temperatures(states.T)
    json.dump({"temperature_K": {name: float(T[i, -1]) for i, name in shown}, "battery_charge": float(states[-1, -1]) if net.battery else None,
               "change": [float(np.abs(step).max()) for step in np.diff(states, axis=0)], "light_J": referee.light_J,
               "extremes": {name: [low, at - (revolutions - 1) * period, high, last - (revolutions - 1) * period]
                            for name, (low, at, high, last) in referee.extremes.items()}}, sys.stdout)
    return 0


if __name__ == "__main__":
    sys.exit(main())

"""The radiating fin of theory (7a) by scipy's boundary-value solver, on a root that is held.

    fin_referee.py CASE MATERIALS

prints JSON: `to_root_W`, the heat that all exact fins of the case bring to their roots, net of what they send to space, and
`tip_K`, the temperature of each tip.
"""

import json
import sys

sys.dont_write_bytecode = True

import numpy as np
from scipy.integrate import solve_bvp

from case_network import read_case
from quantities import STEFAN_BOLTZMANN

TOLERANCE = 1e-9


def solve(root_K, length, sheet, emittance, sink_K):
    """T and k t T' along a fin, from its root."""
    conductance = sheet.value(root_K)  # k t

    def slopes(_, y):
        return np.vstack([y[1] / conductance, emittance * STEFAN_BOLTZMANN * (y[0] ** 4 - sink_K**4)])

    x = np.linspace(0.0, length, 201)
    start = np.vstack([np.full_like(x, root_K), np.zeros_like(x)])
    found = solve_bvp(slopes, lambda a, b: np.array([a[0] - root_K, b[1]]), x, start, tol=TOLERANCE, max_nodes=200000)
    if not found.success:
        raise RuntimeError(found.message)
    return found


def main():
    if len(sys.argv) != 3:
        print(__doc__, file=sys.stderr)
        return 2
    network = read_case(sys.argv[1], sys.argv[2])
    heat, tips = 0.0, []
    for root, _, width, length, sheet, emittance, sink in network.fins:
        found = solve(network.nodes[root].fixed, length, sheet, emittance, sink)
        heat += width * found.y[1, 0]
        tips.append(found.y[0, -1])
    json.dump({"to_root_W": heat, "tip_K": tips}, sys.stdout)
    return 0


if __name__ == "__main__":
    sys.exit(main())

"""A campaign from docs/theory.md alone (chapter 11b): every window integrated, light shared by priority, nothing taken over.

    campaign_referee.py CASE MATERIALS DAYS

Prints the energy of light that each name was given over so many days, and the temperatures at their end. Requests for light only;
the surroundings are at rest. Shares no line with the product.
"""

import csv
import json
import pathlib
import sys
import tempfile

sys.dont_write_bytecode = True

import numpy as np
import yaml

from case_network import read_case
from collocation import Collocation, settle
from power_chain import Chain
from quantities import quantity
from scipy_referee import Mode, Referee

TOLERANCE_K = 1e-6
GAUSS, WEIGHTS = np.polynomial.legendre.leggauss(8)
DAY_S = 86400.0


class LitChain(Chain):
    """Remembers the light that leaves the tile."""

    def light_up(self, T, inputs, wanted, got, h):
        before = h[self.net.optics_node].copy()
        super().light_up(T, inputs, wanted, got, h)
        self.light_out = (h[self.net.optics_node] - before) * self.net.transmission / (1.0 - self.net.transmission)


def rows_of(table):
    """Values with their units as text, one map per row."""
    lines = [line for line in table.read_text().splitlines() if line.strip() and not line.startswith("#")]
    names, units, *rows = list(csv.reader(lines))
    return [{name: f"{cell} {unit}".strip() for name, unit, cell in zip(names, units, row) if cell} for row in rows]


def windows_of(entry, begin_key, length, end):
    """Beginnings and ends of all windows of a row that begin before `end`."""
    first, every = quantity(entry[begin_key]), quantity(entry["every"]) if "every" in entry else 0.0
    begins = first + every * np.arange(int(entry.get("times", 1)))
    return [(begin, begin + length) for begin in begins if begin < end]


class Campaign(Referee):
    def __init__(self, case_file, materials, end):
        case = yaml.load(pathlib.Path(case_file).read_text(), Loader=yaml.BaseLoader)
        campaign = case.pop("campaign")
        case["beam"] = {"drive": "100 %"}
        case["run"] = {"duration": f"{end} s", "output_every": f"{end} s"}
        with tempfile.NamedTemporaryFile("w", suffix=".yaml") as plain:
            yaml.safe_dump(case, plain)
            plain.flush()
            super().__init__(lambda time: read_case(plain.name, materials, time), TOLERANCE_K)
        self.tile.chain = LitChain(self.net)
        folder = pathlib.Path(case_file).parent
        requests = campaign.get("requests") or rows_of(folder / campaign["file"])
        self.windows = []  # (begin, end, priority, light, name)
        for entry in requests:
            for begin, until in windows_of(entry, "at", quantity(entry["for"]), end):
                self.windows.append((begin, until, int(entry.get("priority", 0)), quantity(entry["light"]), entry["name"]))
        self.closed = []
        for entry in campaign.get("keep_out", []):
            self.closed += windows_of(entry, "from", quantity(entry["to"]) - quantity(entry["from"]), end)

    def go(self, end):
        edges = {0.0, end} | {time for window in self.windows + self.closed for time in window[:2] if time < end}
        edges = sorted(edges)
        x, given = self.start(), {window[4]: 0.0 for window in self.windows}
        for begin, until in zip(edges, edges[1:]):
            middle = 0.5 * (begin + until)
            open_now = sorted((w for w in self.windows if w[0] < middle < w[1]), key=lambda w: (-w[2], w[0]))
            kept_out = any(first < middle < last for first, last in self.closed)
            self.net.light = sum(window[3] for window in open_now) or None
            self.tile.mode = Mode(bool(open_now) and not kept_out, 1.0, [0.0] * len(self.net.loads), [], battery=True)
            x = settle(self.tile, x)
            for step, time, state in Collocation(self.tile, TOLERANCE_K).steps(x, begin, until):
                if self.tile.mode.beam:
                    self.share(step, time, open_now, given)
            x = state
        return given, x

    def share(self, step, end, open_now, given):
        """Adds the integral over a step of what each gets."""
        half = 0.5 * (end - step.begin)
        self.tile.rates(step.at(step.begin + half * (GAUSS + 1.0)).T)
        left = self.tile.chain.light_out.copy()
        for _, _, _, light, name in open_now:
            own = np.clip(left, 0.0, light)
            given[name] += half * float(WEIGHTS @ own)
            left -= own


def main():
    if len(sys.argv) != 4:
        print(__doc__, file=sys.stderr)
        return 2
    end = float(sys.argv[3]) * DAY_S
    campaign = Campaign(sys.argv[1], sys.argv[2], end)
    given, x = campaign.go(end)
    T = campaign.tile.temperatures(x)
    temperatures = {node.name: T[i] for i, node in enumerate(campaign.net.nodes) if node.name != "#"}
    json.dump({"delivered_J": given, "temperature_K": temperatures}, sys.stdout)
    return 0


if __name__ == "__main__":
    sys.exit(main())

"""Translates a tile's steady state into a circuit for ngspice, from docs/theory.md alone.

    spice_netlist.py CASE MATERIALS on|off  >  netlist

Volts stand for kelvin, amperes for watts. Conductances are resistors, sunlight and loads current sources, everything else
behavioural sources. The circuit prints `temperature_<node> = value` for every node, dots in names as underscores.
"""

import sys

sys.dont_write_bytecode = True

from case_network import read_case
from quantities import STEFAN_BOLTZMANN, Refusal


def number(value):
    return repr(float(value))


def table(prop, v, integral=False):
    """A property of temperature, or its integral, as nested conditions on the voltage v."""
    T, y, area = prop.temperature, prop.rows, prop.area
    if len(y) == 1:
        return f"({number(y[0])}*{v})" if integral else number(y[0])

    def end(i):
        return f"({number(area[i])}+{number(y[i])}*({v}-{number(T[i])}))" if integral else number(y[i])

    text = end(len(y) - 1)
    for i in reversed(range(len(y) - 1)):
        part, slope = f"({v}-{number(T[i])})", number(prop.slopes[i])
        inside = f"({number(y[i])}+{slope}*{part})"
        if integral:
            inside = f"({number(area[i])}+{part}*({number(y[i])}+0.5*{slope}*{part}))"
        text = f"({v} < {number(T[i + 1])} ? {inside} : {text})"
    return f"({v} < {number(T[0])} ? {end(0)} : {text})"


class Circuit:
    def __init__(self, network, beam):
        self.net, self.beam = network, beam
        self.names = ["temperature_" + node.name.replace(".", "_") for node in network.nodes]
        self.lines, self.guesses, self.count = [], [], 0

    def v(self, i):
        return f"V({self.names[i]})"

    def add(self, kind, text):
        self.count += 1
        self.lines.append(f"{kind}{self.count} {text}")

    def heat_into(self, i, text):
        """A behavioural current into node i."""
        self.add("B", f"0 {self.names[i]} I = {text}")

    def quantity(self, name, text, guess):
        """A voltage that stands for some intermediate quantity."""
        self.add("B", f"{name} 0 V = {text}")
        self.guesses.append((name, guess))
        return f"V({name})"

    def fourth(self, i):
        return "*".join([self.v(i)] * 4)

    def paths(self):
        net = self.net
        for a, b, conductance in net.conductances:
            self.add("R", f"{self.names[a]} {self.names[b]} {number(1.0 / conductance)}")
        for a, b, bar in net.bars:
            self.add("B", f"{self.names[a]} {self.names[b]} I = {table(bar, self.v(a), True)} - {table(bar, self.v(b), True)}")
        for a, b, half_a, half_b, contact in net.layers:
            resistance = f"1.0/{table(half_a, self.v(a))} + 1.0/{table(half_b, self.v(b))} + {number(contact)}"
            self.add("B", f"{self.names[a]} {self.names[b]} I = ({self.v(a)} - {self.v(b)})/({resistance})")
        for a, b, area in net.infrared:
            self.add("B", f"{self.names[a]} {self.names[b]} I = {number(STEFAN_BOLTZMANN * area)}*({self.fourth(a)} - {self.fourth(b)})")
        beyond = net.switches or net.pipes or net.stores or net.heaters or net.battery or len(net.cell_zones) > 1 or net.light is not None
        if beyond or any(bank["dead"] or bank["driver"] or bank["amplifier"] for bank in net.banks):
            raise Refusal("the case has a device that is not translated into a circuit")
        if net.fins:
            raise Refusal("an exact fin is not translated into a circuit")
        for i, area in net.louvres:
            self.add("B", f"{self.names[i]} 0 I = {number(STEFAN_BOLTZMANN)}*{table(area, self.v(i))}*({self.fourth(i)} - {number(net.space**4)})")
        for i, area in net.to_space:
            self.add("B", f"{self.names[i]} 0 I = {number(STEFAN_BOLTZMANN * area)}*({self.fourth(i)} - {number(net.space**4)})")

    def sources(self):
        net = self.net
        for i, node in enumerate(net.nodes):
            if node.fixed is not None:
                self.add("V", f"{self.names[i]} 0 {number(node.fixed)}")
        drive = net.beam[0] if net.beam else 0.0
        shares = {"always": 1.0, "beam_on": drive if self.beam else 0.0, "beam_off": 0.0 if self.beam else 1.0}
        heat = list(net.sun)
        for i, power, when, pattern in net.loads:
            heat.append((i, power * (pattern[0] / pattern[1] if pattern else shares[when])))
        for i, power in heat:
            self.add("I", f"0 {self.names[i]} {number(power)}")

    def drive(self):
        """The effective drive: commanded drive times the least throttle factor."""
        if not self.beam:
            return "0.0"
        factor = "1.0"
        for node, begin, end in self.net.throttles:
            one = f"max(0.0, ({number(end)} - {self.v(node)})/{number(end - begin)})"
            factor = f"min({factor}, {one})"
        return self.quantity("drive", f"{number(self.net.beam[0])}*{factor}", 0.5)

    def demand(self, b, bank, drive):
        diode = bank.get("diode")
        if diode is None:
            return self.quantity(f"demand{b}", f"{number(bank['modules'] * bank['rated_input'])}*{drive}", 50.0)
        current = self.quantity(f"asked{b}", f"{number(diode['rated_current'])}*{drive}", 10.0)
        return self.quantity(f"demand{b}", f"{bank['modules']}*{current}*({number(diode['turn_on'])} + {number(diode['series_resistance'])}*{current})", 100.0)

    def light(self, b, bank, power):
        if "diode" not in bank:
            raise Refusal("an efficiency table is not translated into a circuit")
        diode, junction = bank["diode"], self.v(bank["node"])
        voltage, resistance = diode["turn_on"], diode["series_resistance"]
        one = self.quantity(f"one{b}", f"{power}/{bank['modules']}", 20.0)
        current = self.quantity(f"current{b}", f"2.0*{one}/({number(voltage)} + sqrt(max({number(voltage**2)} + {number(4.0 * resistance)}*{one}, 0.0)))", 10.0)
        warmer = f"({junction} - {number(diode['at'])})"
        threshold = f"{number(diode['threshold'])}*exp({warmer}/{number(diode['threshold_T0'])})"
        slope = f"min({number(diode['slope'])}*exp(-{warmer}/{number(diode['slope_T1'])}), {number(diode['turn_on'])})"
        return self.quantity(f"light{b}", f"{bank['modules']}*max(0.0, {slope}*({current} - {threshold}))", 50.0)

    def chain(self):
        net, cells = self.net, self.net.cells
        warmer = f"({self.v(cells['node'])} - {number(cells['reference'])})"
        available = self.quantity("available", f"{number(cells['power'] * cells['efficiency'])}*max(0.0, 1.0 + ({number(cells['slope'])})*{warmer})", 300.0)
        drive = self.drive()
        demands = [self.demand(b, bank, drive) for b, bank in enumerate(net.banks)]
        demand = self.quantity("demand", " + ".join(demands or ["0.0"]), 100.0)
        linear = 1.0 + net.proportional
        surplus = self.quantity("surplus", f"max(0.0, {available} - {number(net.standby)})", 300.0)
        most = self.quantity("most", f"2.0*{surplus}/({number(linear)} + sqrt({number(linear**2)} + {number(4.0 * net.quadratic)}*{surplus}))", 300.0)
        house = self.quantity("house", f"min({number(net.housekeeping)}, {most})", net.housekeeping)
        laser = self.quantity("laser", f"min({demand}, {most} - {house})", 100.0)
        given = self.quantity("given", f"{house} + {laser}", 100.0)
        # Short of sun, what is given is the most that can be, and its loss uses up all that is available.
        loss = self.quantity("loss", f"min({available}, {number(net.standby)} + {given}*({number(net.proportional)} + {number(net.quadratic)}*{given}))", 10.0)
        drawn = f"({given} + {loss})"
        if cells["shunt"] is None:
            self.heat_into(cells["node"], f"-{drawn}")
        else:
            self.heat_into(cells["node"], f"-{available}")
            self.heat_into(cells["shunt"], f"{available} - {drawn}")
        self.heat_into(net.conditioning_node, loss)
        if net.housekeeping_node is not None:
            self.heat_into(net.housekeeping_node, house)
        smallest_W = 1e-6  # keeps the share finite with the beam off
        for b, bank in enumerate(net.banks):
            power = self.quantity(f"power{b}", f"{demands[b]}*{laser}/max({demand}, {number(smallest_W)})", 100.0)
            light = self.light(b, bank, power)
            self.heat_into(bank["node"], f"{power} - {light}")
            if net.optics_node is not None:
                self.heat_into(net.optics_node, f"{number(1.0 - net.transmission)}*{light}")

    def text(self):
        self.paths()
        self.sources()
        if self.net.cells:
            self.chain()
        settings = [".options reltol=1e-9 abstol=1e-9 vntol=1e-9 gmin=1e-15 itl1=1000"]
        # Newton's method needs to begin within the throttle's band, where the light depends on temperature.
        begin = {node: 0.5 * (first + last) for node, first, last in self.net.throttles if self.beam}
        settings += [f".nodeset V({name})={number(begin.get(i, 300.0))}" for i, name in enumerate(self.names) if self.net.nodes[i].fixed is None]
        settings += [f".nodeset V({name})={number(guess)}" for name, guess in self.guesses]
        control = [".control", "set numdgt=14", "op"] + [f"print V({name})" for name in self.names] + ["quit", ".endc"]
        return "\n".join(["* steady state of a tile", *self.lines, *settings, *control, ".end"]) + "\n"


def main():
    if len(sys.argv) != 4 or sys.argv[3] not in ("on", "off"):
        print(__doc__, file=sys.stderr)
        return 2
    try:
        print(Circuit(read_case(sys.argv[1], sys.argv[2]), sys.argv[3] == "on").text(), end="")
    except Refusal as refusal:
        print(f"spice_netlist: {refusal}", file=sys.stderr)
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main())

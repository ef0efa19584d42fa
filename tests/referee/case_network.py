"""Reads a case file and the materials files for the referees, from docs/theory.md alone, into plain numbers in SI units.

Nothing of the product is used or called. Keys that the referees do not know are refused, not passed over.
"""

import bisect
import glob
import math
import os
import re

import numpy as np
import yaml


class Refusal(Exception):
    """The case asks for something that the referees do not do."""


# ---- units ---------------------------------------------------------------------------------------------------------

ASTRONOMICAL_UNIT_M = 149597870700.0
STEFAN_BOLTZMANN = 5.670374419e-8
FIN_POINTS = 16  # of collocation along an exact fin, without its root
PREFIXES = {"n": 1e-9, "u": 1e-6, "m": 1e-3, "c": 1e-2, "k": 1e3, "M": 1e6, "G": 1e9}
UNITS = {
    "m": 1.0, "g": 1e-3, "s": 1.0, "K": 1.0, "A": 1.0, "V": 1.0, "W": 1.0, "J": 1.0, "ohm": 1.0, "rad": 1.0,
    "min": 60.0, "h": 3600.0, "day": 86400.0, "deg": math.pi / 180.0, "%": 0.01, "AU": ASTRONOMICAL_UNIT_M,
}


def unit_factor(name):
    """SI value of one unit with its exponent, such as `mm` or `m2`."""
    match = re.fullmatch(r"([A-Za-z%]+)(\d*)", name)
    if not match:
        raise Refusal(f"unit '{name}' is not known to the referee")
    symbol, power = match.group(1), int(match.group(2) or "1")
    if symbol in UNITS:
        return UNITS[symbol] ** power
    if symbol[0] in PREFIXES and symbol[1:] in UNITS:
        return (PREFIXES[symbol[0]] * UNITS[symbol[1:]]) ** power
    raise Refusal(f"unit '{name}' is not known to the referee")


def quantity(text):
    """`800 W/(m2 K)` in SI units; `28 degC` in kelvin."""
    match = re.fullmatch(r"\s*([-+]?[0-9.]+(?:[eE][-+]?\d+)?)\s*(.*?)\s*", text)
    if not match:
        raise Refusal(f"'{text}' is no quantity")
    value, unit = float(match.group(1)), match.group(2)
    if unit == "degC":
        return value + 273.15
    above, _, below = unit.partition("/")
    for name in above.split():
        value *= unit_factor(name)
    for name in below.strip("()").split():
        value /= unit_factor(name)
    return value


# ---- properties over temperature -----------------------------------------------------------------------------------


def real(x):
    return x.real if isinstance(x, complex) else x


class Property:
    """A constant or a table over temperature: linear between rows, end values held (theory, section 2)."""

    def __init__(self, rows, factor=1.0):
        self.temperature = [row[0] for row in rows]
        self.rows = [row[1] * factor for row in rows]
        self.area, self.slopes = [0.0], []
        for i in range(1, len(rows)):
            width = self.temperature[i] - self.temperature[i - 1]
            self.slopes.append((self.rows[i] - self.rows[i - 1]) / width)
            self.area.append(self.area[-1] + 0.5 * width * (self.rows[i] + self.rows[i - 1]))

    def times(self, factor):
        return Property(list(zip(self.temperature, self.rows)), factor)

    def interval(self, temperature):
        last = len(self.rows) - 1
        if temperature <= self.temperature[0]:
            return -1
        if temperature >= self.temperature[last]:
            return last
        return bisect.bisect_left(self.temperature, temperature) - 1

    def value(self, temperature):
        if len(self.rows) == 1:
            return self.rows[0]
        i = self.interval(real(temperature))
        if i < 0 or i == len(self.rows) - 1:
            return self.rows[max(i, 0)]
        return self.rows[i] + self.slopes[i] * (temperature - self.temperature[i])

    def integral(self, temperature):
        """From the first row's temperature (a constant's is 0 K)."""
        i = max(self.interval(real(temperature)), 0) if len(self.rows) > 1 else 0
        part = temperature - self.temperature[i]
        inside = i < len(self.slopes) and real(part) > 0.0
        half_slope = 0.5 * self.slopes[i] if inside else 0.0
        return self.area[i] + part * (self.rows[i] + half_slope * part)


def constant(value):
    return Property([(0.0, value)])


# ---- the plain description -----------------------------------------------------------------------------------------


class Node:
    def __init__(self, name, capacity=None, fixed=None, start=None):
        self.name, self.capacity, self.fixed, self.start = name, capacity, fixed, start


class Network:
    """A case in plain numbers. Nodes are named by their index in `nodes`."""

    def __init__(self):
        self.nodes = []
        self.conductances = []   # (a, b, W/K)
        self.bars = []           # (a, b, Property of k A / L)
        self.layers = []         # (a, b, Property of half a, Property of half b, contact resistance K/W)
        self.infrared = []       # (a, b, exchange area m2)
        self.to_space = []       # (node, emittance x area x view factor)
        self.louvres = []        # (node, Property of the same over temperature)
        self.fins = []           # exact fins: root, nodes (massless, of the referee's own), width, length, conductance, emittance, sink
        self.sun = []            # (node, W)
        self.loads = []          # (node, W, when, pattern)
        self.irradiance = 0.0
        self.space = 2.72548
        self.cells = None
        self.standby = self.proportional = self.quadratic = 0.0
        self.conditioning_node = None
        self.housekeeping = 0.0
        self.housekeeping_node = None
        self.banks = []
        self.transmission = 1.0
        self.optics_node = None
        self.throttles = []      # (node, from K, to K)
        self.trips = []          # (node, K)
        self.limits = []         # (node, below K or None, above K or None)
        self.recovered_within = 0.5
        self.beam = None         # (drive, pattern or None)
        self.start_from = "temperature"
        self.start = 293.15
        self.duration = 86400.0
        self.output_every = 60.0

    def index(self, name):
        for i, node in enumerate(self.nodes):
            if node.name == name:
                return i
        raise Refusal(f"'{name}' is no node of the case")


def keys_of(section, where, known):
    unknown = set(section) - set(known.split())
    if unknown:
        raise Refusal(f"{where}: the referee does not know {', '.join(sorted(unknown))}")
    return section


def is_yes(text):
    return text in ("yes", "true", "on")


def read_materials(folder):
    """All entries of a folder of materials files, by kind and name."""
    found = {"solids": {}, "surfaces": {}, "cells": {}}
    for file in sorted(glob.glob(os.path.join(folder, "*.yaml"))):
        with open(file, encoding="utf-8") as stream:
            document = yaml.load(stream, Loader=yaml.BaseLoader)
        for kind in found:
            found[kind].update(document.get(kind, {}))
    return found


def property_of(entry):
    if "value" in entry:
        return constant(quantity(entry["value"]))
    return Property([(quantity(row[0]), quantity(row[1])) for row in entry["table"]])


def number_of(entry):
    """Density, absorptance, emittance and the values of cells are read at 293.15 K."""
    return property_of(entry).value(293.15)


class Reader:
    def __init__(self, case_file, materials_folder):
        with open(case_file, encoding="utf-8") as stream:
            # The base loader leaves every scalar as text: `on` would otherwise become a truth value.
            self.case = keys_of(
                yaml.load(stream, Loader=yaml.BaseLoader), "case",
                "tileflux title life sun space materials stack parts joins infrared surfaces enclosures loads cells conditioning "
                "housekeeping lasers optics limits beam start run duty accuracy")
        self.materials = read_materials(materials_folder)
        for kind, entries in self.case.get("materials", {}).items():
            self.materials[kind].update(entries)
        self.end_of_life = self.case.get("life", "begin") == "end"
        self.network = Network()

    def read(self):
        net, case = self.network, self.case
        sun = keys_of(case["sun"], "sun", "distance tilt irradiance_at_1AU")
        distances = quantity(sun["distance"]) / ASTRONOMICAL_UNIT_M
        tilt = quantity(sun.get("tilt", "0 deg"))
        normal = quantity(sun.get("irradiance_at_1AU", "1361 W/m2")) / distances**2
        net.irradiance = normal * max(0.0, math.cos(tilt))
        net.space = quantity(case.get("space", "2.72548 K"))
        self.read_stack()
        self.read_parts()
        self.read_fin_segments()
        self.read_banks()
        self.read_paths()
        self.read_surfaces()
        self.read_enclosures()
        self.read_loads()
        self.read_chain()
        self.read_control()
        return net

    def solid(self, name):
        if name not in self.materials["solids"]:
            raise Refusal(f"no solid named '{name}'")
        return self.materials["solids"][name]

    def read_stack(self):
        if "stack" not in self.case:
            return
        stack = keys_of(self.case["stack"], "stack", "area layers")
        area = quantity(stack["area"])
        above = None  # node, its half conductance, resistance to the next layer
        for layer in stack["layers"]:
            keys_of(layer, "layer", "name material thickness slices contact_below start")
            solid = self.solid(layer["material"])
            slices = int(layer.get("slices", "1"))
            depth = quantity(layer["thickness"]) / slices
            capacity = property_of(solid["heat_capacity"]).times(number_of(solid["density"]) * depth * area)
            half = property_of(solid["conductivity"]).times(area / (0.5 * depth))
            start = quantity(layer["start"]) if "start" in layer else None
            for i in range(slices):
                name = layer["name"] if slices == 1 else f"{layer['name']}.{i + 1}"
                self.network.nodes.append(Node(name, capacity, start=start))
                here = len(self.network.nodes) - 1
                if above:
                    self.network.layers.append((above[0], here, above[1], half, above[2]))
                above = (here, half, 0.0)
            if "contact_below" in layer:
                above = (here, half, 1.0 / (quantity(layer["contact_below"]) * area))

    def read_parts(self):
        for name, part in self.case.get("parts", {}).items():
            keys_of(part, name, "material mass heat_capacity massless fixed start")
            node = Node(name, start=quantity(part["start"]) if "start" in part else None)
            if "fixed" in part:
                node.fixed = quantity(part["fixed"])
            elif "heat_capacity" in part:
                node.capacity = constant(quantity(part["heat_capacity"]))
            elif "material" in part:
                node.capacity = property_of(self.solid(part["material"])["heat_capacity"]).times(quantity(part["mass"]))
            self.network.nodes.append(node)

    def read_banks(self):
        for name, laser in self.case.get("lasers", {}).items():
            keys_of(laser, name, "mount modules resistance junction_capacity diode table")
            modules = int(laser.get("modules", "1"))
            capacity = constant(modules * quantity(laser["junction_capacity"])) if "junction_capacity" in laser else None
            self.network.nodes.append(Node(name + ".junction", capacity))
            bank = {"modules": modules, "node": len(self.network.nodes) - 1}
            if "diode" in laser:
                diode = keys_of(laser["diode"], name, "rated_current threshold threshold_T0 slope slope_T1 at turn_on series_resistance")
                bank["diode"] = {key: quantity(diode[key]) for key in diode}
                bank["diode"].setdefault("at", 298.15)
            else:
                bank["rated_input"], bank["grid"] = self.efficiency_grid(laser["table"])
            self.network.banks.append(bank)
        for bank, laser in zip(self.network.banks, self.case.get("lasers", {}).values()):
            mount = self.network.index(laser["mount"])
            self.network.conductances.append((bank["node"], mount, bank["modules"] / quantity(laser["resistance"])))

    @staticmethod
    def efficiency_grid(table):
        """Rated input and the grid (junction temperatures, drives, {(row, column): efficiency})."""
        keys_of(table, "table", "rated_input efficiency rows")
        if "efficiency" in table:
            return quantity(table["rated_input"]), ([298.15], [1.0], {(0, 0): quantity(table["efficiency"])})
        rows = [[quantity(cell) for cell in row] for row in table["rows"]]
        temperatures = sorted({row[0] for row in rows})
        drives = sorted({row[1] for row in rows})
        values = {(temperatures.index(row[0]), drives.index(row[1])): row[2] for row in rows}
        return quantity(table["rated_input"]), (temperatures, drives, values)

    def read_paths(self):
        net = self.network
        for join in self.case.get("joins", []):
            keys_of(join, "join", "between conductance contact material area length")
            a, b = (net.index(name) for name in join["between"])
            if "conductance" in join:
                net.conductances.append((a, b, quantity(join["conductance"])))
            elif "contact" in join:
                net.conductances.append((a, b, quantity(join["contact"]) * quantity(join["area"])))
            else:
                conductivity = property_of(self.solid(join["material"])["conductivity"])
                net.bars.append((a, b, conductivity.times(quantity(join["area"]) / quantity(join["length"]))))
        for link in self.case.get("infrared", []):
            keys_of(link, "infrared", "between exchange_area area emittances effective_emittance")
            a, b = (net.index(name) for name in link["between"])
            if "exchange_area" in link:
                exchange = quantity(link["exchange_area"])
            elif "effective_emittance" in link:
                exchange = quantity(link["effective_emittance"]) * quantity(link["area"])
            else:
                first, second = (quantity(text) for text in link["emittances"])
                exchange = quantity(link["area"]) / (1.0 / first + 1.0 / second - 1.0)
            net.infrared.append((a, b, exchange))

    def finish_of(self, surface):
        if "finish" not in surface:
            return quantity(surface["emittance"]), quantity(surface.get("absorptance", "0"))
        values = self.materials["surfaces"][surface["finish"]]
        if self.end_of_life:
            values = values["end_of_life"]
        return number_of(values["emittance"]), number_of(values["absorptance"])

    def read_surfaces(self):
        net = self.network
        for name, surface in self.case.get("surfaces", {}).items():
            keys_of(surface, name, "on area faces finish emittance absorptance view_to_space sunlit absorbed_in fin louvre")
            node = net.index(surface["on"])
            faces = int(surface.get("faces", "1"))
            area = quantity(surface["area"]) * faces
            seen = area * quantity(surface.get("view_to_space", "100 %"))
            louvre = surface.get("louvre")
            emittance, absorptance = self.finish_of(surface) if not louvre else (0.0, quantity(surface.get("absorptance", "0")))
            absorbed = absorptance * net.irradiance * area if is_yes(surface.get("sunlit", "no")) else 0.0
            if "fin" in surface:
                self.read_fin(name, node, surface["fin"], area / faces, emittance * seen / area * faces, absorbed)
                continue
            if louvre:
                rows = [(quantity(louvre[at]), quantity(louvre[value])) for at, value in (("closed_below", "closed"), ("open_above", "open"))]
                net.louvres.append((node, Property(rows, seen)))
            else:
                net.to_space.append((node, emittance * seen))
            for deposit in surface.get("absorbed_in", [{"node": surface["on"], "share": "1"}]):
                net.sun.append((net.index(deposit["node"]), quantity(deposit["share"]) * absorbed))

    def read_fin_segments(self):
        for name, surface in self.case.get("surfaces", {}).items():
            fin = keys_of(surface.get("fin", {}), name, "material thickness length segments")
            segments = int(fin.get("segments", "0"))
            if segments:
                solid = self.solid(fin["material"])
                volume = quantity(surface["area"]) / segments * quantity(fin["thickness"])
                capacity = property_of(solid["heat_capacity"]).times(number_of(solid["density"]) * volume)
            for i in range(segments):
                self.network.nodes.append(Node(f"{name}.{i + 1}", capacity))

    def read_fin(self, name, root, fin, plan, emittance, absorbed):
        """`plan`: area of one face; `emittance`: sum over faces, each with its view to space."""
        net, length, segments = self.network, quantity(fin["length"]), int(fin.get("segments", "0"))
        sheet = property_of(self.solid(fin["material"])["conductivity"]).times(quantity(fin["thickness"]))
        width = plan / length
        if segments == 0:
            sink = ((absorbed / plan) / (STEFAN_BOLTZMANN * emittance) + net.space**4) ** 0.25
            nodes = []
            for _ in range(FIN_POINTS):
                net.nodes.append(Node("#"))
                nodes.append(len(net.nodes) - 1)
            net.fins.append((root, nodes, width, length, sheet, emittance, sink))
            return
        before = root
        for i in range(segments):
            here = net.index(f"{name}.{i + 1}")
            run = length / segments * (0.5 if i == 0 else 1.0)
            net.bars.append((before, here, sheet.times(width / run)))
            net.to_space.append((here, emittance * plan / segments))
            net.sun.append((here, absorbed / segments))
            before = here

    def read_enclosures(self):
        """Exchange areas from the radiosities of one hot face after the other, all else at zero."""
        net = self.network
        for name, enclosure in self.case.get("enclosures", {}).items():
            keys_of(enclosure, name, "faces views open")
            faces = enclosure["faces"]
            for face in faces.values():
                keys_of(face, name, "on area emittance finish")
            order = list(faces)
            nodes = [net.index(face["on"]) for face in faces.values()]
            area = np.array([quantity(face["area"]) for face in faces.values()])
            emittance = np.array([self.finish_of(face)[0] for face in faces.values()])
            views, stated = np.zeros((len(order), len(order))), set()
            for view in enclosure["views"]:
                i, j = order.index(view["from"]), order.index(view["to"])
                views[i, j] = quantity(view["factor"])
                stated.add((i, j))
                if (j, i) not in stated:
                    views[j, i] = area[i] / area[j] * views[i, j]
            left = 1.0 - views.sum(axis=1)
            closed = not is_yes(enclosure.get("open", "no"))
            for i in range(len(order)):
                if closed or left[i] < 0.0:
                    views[i, i] += left[i]
            space = 1.0 - views.sum(axis=1)
            bounce = np.eye(len(order)) - (1.0 - emittance)[:, None] * views
            radiosity = np.linalg.solve(bounce, np.diag(emittance))
            exchange = (emittance * area)[:, None] * (views @ radiosity)
            from_space = np.linalg.solve(bounce, (1.0 - emittance) * space)
            for i in range(len(order)):
                for j in range(i):
                    if nodes[i] != nodes[j]:
                        net.infrared.append((nodes[i], nodes[j], 0.5 * (exchange[i, j] + exchange[j, i])))
                net.to_space.append((nodes[i], emittance[i] * area[i] * (views[i] @ from_space + space[i])))

    @staticmethod
    def pattern(section):
        return quantity(section["on"]), quantity(section["every"]), quantity(section.get("first", "0 s"))

    def read_loads(self):
        for load in self.case.get("loads", []):
            keys_of(load, "load", "on power when pattern")
            pattern = self.pattern(load["pattern"]) if "pattern" in load else None
            self.network.loads.append((self.network.index(load["on"]), quantity(load["power"]), load.get("when", "always"), pattern))

    def read_chain(self):
        net, case = self.network, self.case
        if "cells" not in case:
            return
        cells = keys_of(case["cells"], "cells", "surface on type efficiency slope at packing remaining undrawn shunt")
        area = quantity(case["surfaces"][cells["surface"]]["area"])
        remaining = 1.0
        if "type" in cells:
            kind = self.materials["cells"][cells["type"]]
            efficiency, reference, slope = (number_of(kind[key]) for key in ("efficiency", "reference_temperature", "slope"))
            if self.end_of_life:
                remaining = number_of(kind["end_of_life"]["remaining"])
        else:
            efficiency, slope = quantity(cells["efficiency"]), quantity(cells["slope"])
            reference = quantity(cells.get("at", "28 degC"))
            if self.end_of_life:
                remaining = quantity(cells["remaining"])
        net.cells = {
            "node": net.index(cells["on"]), "efficiency": efficiency, "reference": reference, "slope": slope,
            "power": net.irradiance * area * quantity(cells.get("packing", "100 %")) * remaining,
            "shunt": net.index(cells["shunt"]) if cells.get("undrawn") == "goes_to_shunt" else None,
        }
        net.conditioning_node = net.cells["node"]
        if "conditioning" in case:
            section = keys_of(case["conditioning"], "conditioning", "on standby proportional full_load")
            net.conditioning_node = net.index(section["on"])
            net.standby = quantity(section.get("standby", "0 W"))
            net.proportional = quantity(section.get("proportional", "0 %"))
            if "full_load" in section:
                power, loss = quantity(section["full_load"]["power"]), quantity(section["full_load"]["loss"])
                net.quadratic = (loss * power - net.standby - net.proportional * power) / power**2
        if "housekeeping" in case:
            net.housekeeping_node = net.index(case["housekeeping"]["on"])
            net.housekeeping = quantity(case["housekeeping"]["power"])
        if "optics" in case:
            net.optics_node = net.index(case["optics"]["on"])
            net.transmission = quantity(case["optics"]["transmission"])

    def read_control(self):
        net, case = self.network, self.case
        for name, limit in case.get("limits", {}).items():
            keys_of(limit, name, "below above throttle_from trip")
            below, above = (quantity(limit[key]) if key in limit else None for key in ("below", "above"))
            net.limits.append((net.index(name), below, above))
            if "throttle_from" in limit:
                net.throttles.append((net.index(name), quantity(limit["throttle_from"]), quantity(limit["below"])))
            if "trip" in limit:
                net.trips.append((net.index(name), quantity(limit["below"])))
        if "beam" in case:
            beam = keys_of(case["beam"], "beam", "drive on every first")
            net.beam = (quantity(beam.get("drive", "100 %")), self.pattern(beam) if "every" in beam else None)
        start = keys_of(case.get("start", {}), "start", "from temperature")
        net.start_from = start.get("from", "temperature")
        net.start = quantity(start.get("temperature", "20 degC"))
        # A difference of temperatures: kelvin only.
        net.recovered_within = quantity(case.get("duty", {}).get("recovered_within", "0.5 K"))
        run = keys_of(case.get("run", {}), "run", "duration output_every")
        net.duration = quantity(run.get("duration", "24 h"))
        net.output_every = quantity(run.get("output_every", "60 s"))


def read_case(case_file, materials_folder):
    return Reader(case_file, materials_folder).read()

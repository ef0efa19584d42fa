"""Reads a case file and the materials files for the referees, from docs/theory.md alone, into plain numbers in SI units.

Nothing of the product is used or called. Keys that the referees do not know are refused, not passed over.
"""

import glob
import math
import os

import numpy as np
import yaml

import sky
from case_devices import Devices
from view_factors import polygon_area, view_factor
from quantities import (ASTRONOMICAL_UNIT_M, STEFAN_BOLTZMANN, Property, Refusal, constant, is_yes, keys_of, number_of, property_of, quantity)

STANDARDS = {"iau_2015": "1361 W/m2", "measured_2011": "1360.8 W/m2", "astm_2000": "1366.1 W/m2", "older_1353": "1353 W/m2"}
FIN_POINTS = 16  # of collocation along an exact fin, without its root


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
        self.louvre_faces = []   # for each, the values of the sky whose infrared it takes up, and the share of the area
        self.fins = []           # exact fins: root, nodes (massless, of the referee's own), width, length, conductance, emittance, sink
        self.sun = []            # (node, W), in surroundings at rest
        self.sky = None          # surroundings that move, see sky.py
        self.lit = []            # (node, value of the sky, m2 of it that the node takes up)
        self.loads = []          # (node, W, when, pattern)
        self.irradiance = 0.0
        self.space = 2.72548
        self.switches = []       # (a, b, Property of conductance over the temperature of a)
        self.pipes = []          # heat pipes, see case_devices
        self.stores = []         # what melts, see case_devices
        self.heaters, self.battery, self.failures, self.light = [], None, [], None
        self.priorities = ["housekeeping", "heaters", "lasers", "charging"]
        self.cells = None
        self.standby = self.proportional = self.quadratic = 0.0
        self.conditioning_node = None
        self.housekeeping = 0.0
        self.housekeeping_node = None
        self.banks = []
        self.cell_zones = []     # (node, share of the cells)
        self.transmission = 1.0
        self.optics_node = None
        self.throttles = []      # (node, from K, to K)
        self.trips = []          # (node, below K, reset K, shortest time off s, share of the drive that is left)
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


def read_materials(folder):
    """All entries of a folder of materials files, by kind and name."""
    found = {"solids": {}, "media": {}, "fluids": {}, "surfaces": {}, "cells": {}, "bodies": {}}
    for file in sorted(glob.glob(os.path.join(folder, "*.yaml"))):
        with open(file, encoding="utf-8") as stream:
            document = yaml.load(stream, Loader=yaml.BaseLoader)
        for kind in found:
            found[kind].update(document.get(kind, {}))
    return found


class Reader(Devices):
    def __init__(self, case_file, materials_folder, time, instant):
        self.time, self.instant, self.folder = time, instant, os.path.dirname(case_file)
        with open(case_file, encoding="utf-8") as stream:
            # The base loader leaves every scalar as text: `on` would otherwise become a truth value.
            self.case = keys_of(
                yaml.load(stream, Loader=yaml.BaseLoader), "case",
                "tileflux title life sun orbit space materials stack parts joins infrared heat_pipes stores surfaces enclosures loads cells "
                "bus battery conditioning heaters housekeeping lasers optics limits beam emitting_path failures size start run duty accuracy")
        self.zones = {}  # of a layer's bare name: (node, share)
        self.materials = read_materials(materials_folder)
        for kind, entries in self.case.get("materials", {}).items():
            self.materials[kind].update(entries)
        self.end_of_life = self.case.get("life", "begin") == "end"
        self.network = Network()

    def read(self):
        net, case = self.network, self.case
        self.read_sun(case["sun"])
        net.space = quantity(case.get("space", "2.72548 K"))
        self.read_stack()
        self.read_parts()
        self.read_fin_segments()
        self.read_banks()
        self.read_stores()
        self.read_heat_pipes()
        self.read_paths()
        self.read_surfaces()
        self.read_enclosures()
        self.read_loads()
        self.read_chain()
        self.read_bus()
        self.read_control()
        return net

    def read_sun(self, sun):
        at_1AU = quantity(sun.get("irradiance_at_1AU", STANDARDS[sun.get("standard", "iau_2015")]))
        stuck = [quantity(failure["tilt"]) for failure in self.failures_so_far() if failure["what"] == "stuck_tilt"]
        if sky.wanted(self.case):
            self.network.sky = sky.Sky(self.case, self.materials["bodies"], self.folder, at_1AU, stuck[-1] if stuck else None, self.instant)
            return
        keys_of(sun, "sun", "distance tilt tilt_law irradiance_at_1AU standard")
        self.normal = at_1AU / (quantity(sun["distance"]) / ASTRONOMICAL_UNIT_M) ** 2
        self.tilt = stuck[-1] if stuck else quantity(sun.get("tilt", "0 deg"))
        self.network.irradiance = self.normal * max(0.0, math.cos(self.tilt))

    def places(self, name):
        """Nodes that a name stands for, with their shares: several for a layer's bare name where there are zones."""
        return self.zones.get(name) or [(self.network.index(name), 1.0)]

    def pairs(self, names):
        """Pairs of nodes and shares for a path between two names."""
        first, second = (self.places(name) for name in names)
        if len(first) > 1 and len(second) > 1:
            return [(a, b, share) for (a, share), (b, _) in zip(first, second)]
        return [(a, b, share_a * share_b) for a, share_a in first for b, share_b in second]

    @staticmethod
    def new_node(name):
        return Node(name)

    def solid(self, name):
        if name not in self.materials["solids"]:
            raise Refusal(f"no solid named '{name}'")
        return self.materials["solids"][name]

    def read_stack(self):
        if "stack" not in self.case:
            return
        stack = keys_of(self.case["stack"], "stack", "area zones layers")
        zones = keys_of(stack.get("zones", {}), "zones", "names shares border distance")
        names = zones.get("names", [""])
        shares = [quantity(share) for share in zones["shares"]] if "shares" in zones else [1.0 / len(names)] * len(names)
        across = quantity(zones["border"]) / quantity(zones["distance"]) if zones else 0.0
        for zone, share in zip(names, shares):
            self.read_layers(stack["layers"], quantity(stack["area"]) * share, zone, share)
        for layer in stack["layers"] if zones else []:
            slices = int(layer.get("slices", "1"))
            along = property_of(self.solid(layer["material"])["conductivity"]).times(across * quantity(layer["thickness"]) / slices)
            for i in range(slices):
                name = layer["name"] if slices == 1 else f"{layer['name']}.{i + 1}"
                beside = [node for node, _ in self.zones[name]]
                self.network.bars += [(a, b, along) for a, b in zip(beside, beside[1:])]

    def read_layers(self, layers, area, zone, share):
        above = None  # node, its half conductance, resistance to the next layer
        for layer in layers:
            keys_of(layer, "layer", "name material thickness slices contact_below start")
            solid = self.solid(layer["material"])
            slices = int(layer.get("slices", "1"))
            depth = quantity(layer["thickness"]) / slices
            capacity = property_of(solid["heat_capacity"]).times(number_of(solid["density"]) * depth * area)
            half = property_of(solid["conductivity"]).times(area / (0.5 * depth))
            start = quantity(layer["start"]) if "start" in layer else None
            for i in range(slices):
                name = layer["name"] if slices == 1 else f"{layer['name']}.{i + 1}"
                self.network.nodes.append(Node(f"{name}.{zone}" if zone else name, capacity, start=start))
                here = len(self.network.nodes) - 1
                if zone:
                    self.zones.setdefault(name, []).append((here, share))
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
            keys_of(laser, name, "mount modules in_series dead resistance junction_capacity diode table driver amplifier")
            all_modules, in_series, dead = (int(laser.get(key, default)) for key, default in (("modules", "1"), ("in_series", "1"), ("dead", "0")))
            at_start = max(1, all_modules - dead * in_series)
            working = max(0, all_modules - in_series * (dead + self.lost("dead_modules", name)))
            modules = max(working, 1)
            capacity = constant(at_start * quantity(laser["junction_capacity"])) if "junction_capacity" in laser else None
            self.network.nodes.append(Node(name + ".junction", capacity))
            bank = {"modules": modules, "node": len(self.network.nodes) - 1, "dead": working == 0}
            if "diode" in laser:
                diode = keys_of(laser["diode"], name, "rated_current threshold threshold_T0 slope slope_T1 at turn_on series_resistance valid")
                bank["diode"] = {key: quantity(diode[key]) for key in diode if key != "valid"}
                bank["diode"].setdefault("at", 298.15)
            else:
                bank["rated_input"], bank["grid"] = self.efficiency_grid(laser["table"])
            self.network.banks.append(bank)
        for bank, laser in zip(self.network.banks, self.case.get("lasers", {}).values()):
            for mount, share in self.places(laser["mount"]):
                self.network.conductances.append((bank["node"], mount, share * bank["modules"] / quantity(laser["resistance"])))

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
            keys_of(join, "join", "between conductance contact material area length core switch")
            for a, b, share in self.pairs(join["between"]):
                if "conductance" in join:
                    net.conductances.append((a, b, share * quantity(join["conductance"])))
                elif "contact" in join:
                    net.conductances.append((a, b, share * quantity(join["contact"]) * quantity(join["area"])))
                elif "switch" in join:
                    self.read_switch(a, b, join["switch"], share)
                elif "core" in join:
                    self.read_core(a, b, join, share)
                else:
                    conductivity = property_of(self.solid(join["material"])["conductivity"])
                    net.bars.append((a, b, conductivity.times(share * quantity(join["area"]) / quantity(join["length"]))))
        for link in self.case.get("infrared", []):
            keys_of(link, "infrared", "between exchange_area area emittances effective_emittance")
            if "exchange_area" in link:
                exchange = quantity(link["exchange_area"])
            elif "effective_emittance" in link:
                exchange = quantity(link["effective_emittance"]) * quantity(link["area"])
            else:
                first, second = (quantity(text) for text in link["emittances"])
                exchange = quantity(link["area"]) / (1.0 / first + 1.0 / second - 1.0)
            net.infrared += [(a, b, share * exchange) for a, b, share in self.pairs(link["between"])]

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
            keys_of(surface, name, "on area faces finish emittance absorptance view_to_space sunlit absorbed_in fin louvre facing")
            faces = int(surface.get("faces", "1"))
            area = quantity(surface["area"]) * faces
            seen = area * quantity(surface.get("view_to_space", "100 %"))
            louvre = surface.get("louvre")
            emittance, absorptance = self.finish_of(surface) if not louvre else (0.0, quantity(surface.get("absorptance", "0")))
            for failure in self.failures_so_far():
                if failure["what"] == "degraded_finish" and failure["of"] == name:
                    emittance = quantity(failure["emittance"]) if "emittance" in failure else emittance
                    absorptance = quantity(failure["absorptance"]) if "absorptance" in failure else absorptance
            absorbed = absorptance * net.irradiance * area / faces if is_yes(surface.get("sunlit", "no")) else 0.0
            if net.sky:
                self.read_lit(name, surface, area / faces, absorptance, emittance)
            if "fin" in surface:
                self.read_fin(name, net.index(surface["on"]), surface["fin"], area / faces, emittance * seen / area * faces, absorbed)
                continue
            if louvre:
                rows = [(quantity(louvre[at]), quantity(louvre[value])) for at, value in (("closed_below", "closed"), ("open_above", "open"))]
                net.louvres += [(node, Property(rows, share * seen)) for node, share in self.places(surface["on"])]
                net.louvre_faces += [[(sky.INFRARED + face, 1.0 / faces) for face in sky.facings(surface)]
                                     if net.sky else [] for _ in self.places(surface["on"])]
            else:
                net.to_space += [(node, share * emittance * seen) for node, share in self.places(surface["on"])]
            for deposit in surface.get("absorbed_in", [{"node": surface["on"], "share": "1"}]):
                for node, share in self.places(deposit["node"]) if not net.sky else []:
                    net.sun.append((node, share * quantity(deposit["share"]) * absorbed))

    def read_lit(self, name, surface, area, absorptance, emittance):
        """What the faces of a surface take up of the sky, in places and shares; `area` of one face."""
        net, seen = self.network, quantity(surface.get("view_to_space", "100 %"))
        radiates = self.places(surface["on"])
        deposits = [(node, share * quantity(deposit["share"]))
                    for deposit in surface.get("absorbed_in", [{"node": surface["on"], "share": "1"}]) for node, share in self.places(deposit["node"])]
        if "fin" in surface:
            segments = int(surface["fin"].get("segments", "0"))
            if segments == 0 and sky.facings(surface):
                raise Refusal("an exact fin needs a steady Sun")
            radiates = deposits = [(net.index(f"{name}.{i + 1}"), 1.0 / segments) for i in range(segments)]
        for face in sky.facings(surface):
            for node, share in deposits:
                net.lit.append((node, sky.SUNLIGHT + face, share * absorptance * area))
                net.lit.append((node, sky.ALBEDO + face, share * absorptance * area * seen))
            net.lit += [(node, sky.INFRARED + face, share * emittance * area * seen) for node, share in radiates]

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
            if not net.sky:
                net.sun.append((here, absorbed / segments))
            before = here

    def read_enclosures(self):
        """Exchange areas from the radiosities of one hot face after the other, all else at zero."""
        net = self.network
        for name, enclosure in self.case.get("enclosures", {}).items():
            keys_of(enclosure, name, "faces views open")
            faces = enclosure["faces"]
            for face in faces.values():
                keys_of(face, name, "on area emittance finish corners")
            order = list(faces)
            nodes = [net.index(face["on"]) for face in faces.values()]
            corners = [np.array([[quantity(x) for x in row] for row in face["corners"]]) if "corners" in face else None for face in faces.values()]
            area = np.array([quantity(face["area"]) if flat is None else polygon_area(flat) for face, flat in zip(faces.values(), corners)])
            emittance = np.array([self.finish_of(face)[0] for face in faces.values()])
            views, stated = np.zeros((len(order), len(order))), set()
            for i in range(len(order)):
                for j in range(i):
                    if corners[i] is not None and corners[j] is not None:
                        views[i, j] = view_factor(corners[i], corners[j])
                        views[j, i] = views[i, j] * area[i] / area[j]
            for view in enclosure.get("views", []):
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

    def pattern(self, section):
        every = self.network.sky.orbit.path.period / quantity(section["per_orbit"]) if "per_orbit" in section else quantity(section["every"])
        return quantity(section["on"]), every, quantity(section.get("first", "0 s"))

    def read_loads(self):
        for load in self.case.get("loads", []):
            keys_of(load, "load", "on power when pattern")
            pattern = self.pattern(load["pattern"]) if "pattern" in load else None
            for node, share in self.places(load["on"]):
                self.network.loads.append((node, share * quantity(load["power"]), load.get("when", "always"), pattern))

    def read_chain(self):
        net, case = self.network, self.case
        if "cells" in case:
            self.read_cells()
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

    def read_cells(self):
        net, case = self.network, self.case
        cells = keys_of(case["cells"], "cells", "surface on type efficiency slope at packing intensity_slope reference_irradiance "
                        "pointing remaining undrawn shunt")
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
        for failure in self.failures_so_far():
            if failure["what"] == "open_strings":
                remaining *= 1.0 - quantity(failure["share"])
        pointing = Property([(quantity(row[0]), quantity(row[1])) for row in cells["pointing"]]) if "pointing" in cells else None
        fade, normal = quantity(cells.get("intensity_slope", "0")), quantity(cells.get("reference_irradiance", "1361 W/m2"))
        if net.sky:
            net.sky.pointing = pointing
            used = 1.0
        else:
            used = self.normal * pointing.value(self.tilt) if pointing else net.irradiance
        dimmed = 1.0 + fade * math.log(used / normal) if used > 0.0 and not net.sky else 1.0
        net.cell_zones = self.places(cells["on"])
        net.cells = {
            "node": net.cell_zones[0][0], "efficiency": efficiency, "reference": reference, "slope": slope,
            "power": used * area * quantity(cells.get("packing", "100 %")) * remaining * max(dimmed, 0.0),
            # Under a sky the power is that of 1 W/m2, and fades in the chain.
            "fade": (fade, normal), "face": (sky.facings(case["surfaces"][cells["surface"]]) or [sky.FRONT])[0],
            "shunt": net.index(cells["shunt"]) if cells.get("undrawn") == "goes_to_shunt" else None,
        }
        net.conditioning_node = net.cells["node"]

    def read_control(self):
        net, case = self.network, self.case
        for name, limit in case.get("limits", {}).items():
            keys_of(limit, name, "below above throttle_from trip")
            below, above = (quantity(limit[key]) if key in limit else None for key in ("below", "above"))
            for node, _ in self.places(name):
                net.limits.append((node, below, above))
                if "throttle_from" in limit:
                    net.throttles.append((node, quantity(limit["throttle_from"]), below))
                if "trip" in limit:
                    trip = keys_of(limit["trip"], name, "to reset_below minimum_off")
                    net.trips.append((node, below, quantity(trip["reset_below"]), quantity(trip["minimum_off"]), quantity(trip.get("to", "0 %"))))
        if "beam" in case:
            beam = keys_of(case["beam"], "beam", "drive light on every per_orbit first")
            net.light = quantity(beam["light"]) if "light" in beam else None
            net.beam = (quantity(beam.get("drive", "100 %")), self.pattern(beam) if "every" in beam or "per_orbit" in beam else None)
        start = keys_of(case.get("start", {}), "start", "from temperature")
        net.start_from = start.get("from", "temperature")
        net.start = quantity(start.get("temperature", "20 degC"))
        # A difference of temperatures: kelvin only.
        net.recovered_within = quantity(case.get("duty", {}).get("recovered_within", "0.5 K"))
        net.failures = sorted({quantity(failure["at"]) for failure in case.get("failures", [])})
        run = keys_of(case.get("run", {}), "run", "duration output_every")
        net.duration = quantity(run.get("duration", "24 h"))
        net.output_every = quantity(run.get("output_every", "60 s"))


def read_case(case_file, materials_folder, time=0.0, instant=None):
    """The case as it is at a time from the start, with what has failed until then; steady answers for the mean surroundings or an instant."""
    return Reader(case_file, materials_folder, time, instant).read()

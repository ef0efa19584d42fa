"""What a case says about switches, cores, heat pipes, stores, bus, battery, heaters, drivers, amplifiers and failures.

A mixin of the reader in case_network.py. Written from docs/theory.md (chapters 4 to 8) alone.
"""

from quantities import Property, constant, keys_of, property_of, quantity

TRACE = 1e-6  # of a pipe: where all are lost, vapour nodes carry nothing and show the mean of their walls


class Devices:
    # ---- failures --------------------------------------------------------------------------------------------------

    def failures_so_far(self):
        return [failure for failure in self.case.get("failures", []) if quantity(failure["at"]) <= self.time + 1e-9]

    def lost(self, what, of):
        return sum(int(failure["count"]) for failure in self.failures_so_far() if failure["what"] == what and failure["of"] == of)

    # ---- paths -----------------------------------------------------------------------------------------------------

    def read_switch(self, a, b, switch, share):
        keys_of(switch, "switch", "open closed open_below closed_above")
        rows = [(quantity(switch["open_below"]), quantity(switch["open"])), (quantity(switch["closed_above"]), quantity(switch["closed"]))]
        self.network.switches.append((a, b, Property(rows, share)))

    def read_core(self, a, b, join, share):
        core = keys_of(join["core"], "core", "height cell foil emittance")
        height, cell, foil, emittance = (quantity(core[key]) for key in ("height", "cell", "foil", "emittance"))
        area = share * quantity(join["area"])
        self.network.bars.append((a, b, property_of(self.solid(join["material"])["conductivity"]).times(8.0 * foil / (3.0 * cell) * area / height)))
        slender = height / cell
        passed = 0.664 * (slender + 0.3) ** -0.69 * emittance ** (1.63 * (slender + 1.0) ** -0.89)
        self.network.infrared.append((a, b, area * passed))

    def read_heat_pipes(self):
        net = self.network
        for name, pipe in self.case.get("heat_pipes", {}).items():
            keys_of(pipe, name, "pipes lost evaporators condensers transport fluid transport_at effective_length along capacity")
            working = int(pipe.get("pipes", "1")) - int(pipe.get("lost", "0")) - self.lost("lost_pipes", name)
            ends = []
            for end, walls in (("evaporator", pipe["evaporators"]), ("condenser", pipe["condensers"])):
                net.nodes.append(self.new_node(f"{name}.{end}"))
                ends.append(len(net.nodes) - 1)
                if "capacity" in pipe:
                    net.nodes[-1].capacity = constant(0.5 * int(pipe.get("pipes", "1")) * quantity(pipe["capacity"]))
                for wall in walls:
                    for node, share in self.places(wall["on"]):
                        net.conductances.append((node, ends[-1], share * max(working, TRACE) * quantity(wall["conductance"])))
            if "transport" in pipe:
                capability = Property([(quantity(row[0]), quantity(row[1])) for row in pipe["transport"]])
            else:
                merit = self.merit(self.materials["fluids"][pipe["fluid"]])
                row = pipe["transport_at"][0] if isinstance(pipe["transport_at"][0], list) else pipe["transport_at"]
                capability = merit.times(quantity(row[1]) / merit.value(quantity(row[0])))
            along = quantity(pipe.get("along", "1000 W/K"))
            net.pipes.append((ends[0], ends[1], max(working, 0) * along, capability.times(max(working, 0) / quantity(pipe["effective_length"]))))

    @staticmethod
    def merit(fluid):
        """Density x latent heat x surface tension / viscosity at the rows that all four cover, zero at both ends."""
        if "merit" in fluid:
            return property_of(fluid["merit"])
        four = [property_of(fluid[key]) for key in ("density", "latent_heat", "surface_tension", "viscosity")]
        tables = [p for p in four if len(p.rows) > 1]
        first, last = max(p.temperature[0] for p in tables), min(p.temperature[-1] for p in tables)
        rows = sorted({t for p in tables for t in p.temperature if first <= t <= last})
        inner = [(t, four[0].value(t) * four[1].value(t) * four[2].value(t) / four[3].value(t)) for t in rows]
        ends = [(quantity(fluid[key]["value"]), 0.0) for key in ("freezing_temperature", "critical_temperature")]
        return Property([ends[0]] + [row for row in inner if ends[0][0] < row[0] < ends[1][0]] + [ends[1]])

    def read_stores(self):
        net = self.network
        for name, section in self.case.get("stores", {}).items():
            keys_of(section, name, "in medium mass area thickness contact slices start")
            medium = self.materials["media"][section["medium"]]
            melting = quantity(medium["melting_temperature"]["value"])
            width = quantity(medium["melting_range"]["value"]) if "melting_range" in medium else 0.1
            mass, area, slices = quantity(section["mass"]), quantity(section["area"]), int(section.get("slices", "1"))
            phase = {key: {k: property_of(medium[key][k]).value(melting) for k in ("density", "heat_capacity", "conductivity")}
                     for key in ("solid", "liquid")}
            depth = quantity(section["thickness"]) if "thickness" in section else mass / (phase["solid"]["density"] * area)
            store = {
                "wall": net.index(section["in"]), "nodes": [], "middle": melting, "first": melting - 0.5 * width, "width": width,
                "solid": mass / slices * phase["solid"]["heat_capacity"], "liquid": mass / slices * phase["liquid"]["heat_capacity"],
                "latent": mass / slices * quantity(medium["latent_heat"]["value"]),
                "contact": 1.0 / (quantity(section.get("contact", "500 W/(m2 K)")) * area),
                "solid_resistance": depth / slices / (phase["solid"]["conductivity"] * area),
                "liquid_resistance": depth / slices / (phase["liquid"]["conductivity"] * area),
            }
            for i in range(slices):
                node = self.new_node(name if slices == 1 else f"{name}.{i + 1}")
                node.capacity = constant(store["solid"])
                node.start = quantity(section["start"]) if "start" in section else None
                net.nodes.append(node)
                store["nodes"].append(len(net.nodes) - 1)
            net.stores.append(store)

    # ---- power chain -----------------------------------------------------------------------------------------------

    def read_bus(self):
        net, case = self.network, self.case
        bus = keys_of(case.get("bus", {}), "bus", "priorities lowest_voltage")
        net.priorities = bus.get("priorities", net.priorities)
        for name, section in case.get("heaters", {}).items():
            keys_of(section, name, "on sensor power rated_voltage on_below off_above")
            power = quantity(section["power"])
            if "rated_voltage" in section:
                power *= (quantity(bus["lowest_voltage"]) / quantity(section["rated_voltage"])) ** 2
            stuck = [failure["state"] for failure in self.failures_so_far() if failure["what"] == "stuck_heater" and failure["of"] == name]
            net.heaters.append({
                "name": name, "places": self.places(section["on"]), "power": power, "stuck": stuck[-1] if stuck else None,
                "sensors": self.places(section.get("sensor", section["on"])), "on": quantity(section["on_below"]), "off": quantity(section["off_above"]),
            })
        if "battery" in case:
            self.read_battery(case["battery"])
        for bank, (name, laser) in zip(net.banks, case.get("lasers", {}).items()):
            driver = keys_of(laser.get("driver", {}), name, "loss on")
            bank["driver"] = quantity(driver.get("loss", "0"))
            bank["driver_node"] = net.index(driver["on"]) if "on" in driver else net.conditioning_node
            bank["amplifier"] = self.amplifier(laser["amplifier"]) if "amplifier" in laser else None

    def read_battery(self, section):
        keys_of(section, "battery", "on capacity round_trip charge discharge depth_of_discharge self_discharge start feeds_lasers")
        charge = keys_of(section["charge"], "charge", "most full taper between")
        discharge = keys_of(section["discharge"], "discharge", "most derating between")
        efficiency, at = quantity(section["round_trip"]["efficiency"]), quantity(section["round_trip"]["at"])
        self.network.battery = {
            "node": self.network.index(section["on"]), "capacity": quantity(section["capacity"]),
            "resistance": (1.0 - efficiency) / (1.0 + efficiency) / at,
            "most_in": quantity(charge["most"]), "full": 100.0 * quantity(charge.get("full", "100 %")),
            "taper": 100.0 * quantity(charge.get("taper", "5 %")),
            "window_in": [quantity(text) for text in charge.get("between", ["0 degC", "45 degC"])],
            "most_out": quantity(discharge["most"]), "derating": 100.0 * quantity(discharge.get("derating", "5 %")),
            "window_out": [quantity(text) for text in discharge.get("between", ["-20 degC", "60 degC"])],
            "least": 100.0 * (1.0 - quantity(section.get("depth_of_discharge", "80 %"))),
            "leak": quantity(section.get("self_discharge", "0 %/day")), "start": 100.0 * quantity(section.get("start", "100 %")),
            "feeds_lasers": section.get("feeds_lasers", "yes") in ("yes", "true"),
        }

    def amplifier(self, section):
        keys_of(section, "amplifier", "on unabsorbed_in pump at shift absorption length signal efficiency threshold")
        length = quantity(section["length"])
        return {
            "node": self.network.index(section["on"]), "rest": self.network.index(section["unabsorbed_in"]),
            "pump": quantity(section["pump"]), "at": quantity(section.get("at", "25 degC")), "shift": quantity(section["shift"]),
            "depth": Property([(quantity(row[0]), quantity(row[1]) * length) for row in section["absorption"]]),
            "signal": quantity(section["signal"]), "efficiency": quantity(section["efficiency"]), "threshold": quantity(section.get("threshold", "0 W")),
        }

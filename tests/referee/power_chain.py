"""Cells, conditioning, battery, bus with priorities, heaters, drivers, lasers and fibre amplifiers (theory, 6 and 7).

From docs/theory.md alone. Everything works on rows of values, one column per state, real or complex.
"""

import numpy as np

from quantities import Refusal
from sky import USED
from tables import Tables, larger, smaller

RAMP_K = 2.0  # inside the battery's allowed temperatures (theory, section 6)


def clamp(x):
    return larger(0.0, smaller(1.0, x))


def smooth(x):
    x = clamp(x)
    return x * x * (3.0 - 2.0 * x)


def bilinear(grid, temperature, drive):
    temperatures, drives, values = grid
    table = np.array([[values[r, c] for c in range(len(drives))] for r in range(len(temperatures))])

    def place(axis, x):
        axis = np.array(axis)
        held = larger(axis[0], smaller(axis[-1], x))
        i = np.clip(np.searchsorted(axis, np.real(held), side="right") - 1, 0, max(len(axis) - 2, 0))
        j = np.minimum(i + 1, len(axis) - 1)
        return i, j, (held - axis[i]) / np.where(i == j, 1.0, axis[j] - axis[i])

    r0, r1, u = place(temperatures, temperature)
    c0, c1, v = place(drives, drive)
    return (1.0 - u) * ((1.0 - v) * table[r0, c0] + v * table[r0, c1]) + u * ((1.0 - v) * table[r1, c0] + v * table[r1, c1])


class Chain:
    def __init__(self, network):
        self.net = network
        self.sky = None      # its values in the columns that are worked on
        self.light_W = 0.0   # what left the tile in them
        for bank in network.banks:
            if bank["amplifier"]:
                bank["amplifier"]["absorption"] = Tables([bank["amplifier"]["depth"]])

    # ---- lasers ----------------------------------------------------------------------------------------------------

    @staticmethod
    def line(diode, junction):
        """Threshold current and slope of one diode."""
        warmer = junction - diode["at"]
        slope = diode["slope"] * np.exp(-warmer / diode["slope_T1"])
        return diode["threshold"] * np.exp(warmer / diode["threshold_T0"]), smaller(slope, diode["turn_on"])

    def pump_W(self, bank, power, junction):
        """The light that the modules of a bank give together."""
        one = power / bank["modules"]
        if "diode" not in bank:
            return power * bilinear(bank["grid"], junction, one / bank["rated_input"])
        diode = bank["diode"]
        voltage, resistance = diode["turn_on"], diode["series_resistance"]
        current = 2.0 * one / (voltage + np.sqrt(voltage**2 + 4.0 * resistance * one))
        threshold, slope = self.line(diode, junction)
        return bank["modules"] * larger(slope * (current - threshold), 0.0)

    @staticmethod
    def share_absorbed(amplifier, junction):
        wavelength = amplifier["pump"] + amplifier["shift"] * (junction - amplifier["at"])
        return 1.0 - np.exp(-amplifier["absorption"].value(wavelength[None, :])[0]), wavelength

    def drive_for_light(self, bank, light, junction):
        """Of one bank, to give so much light."""
        if bank["amplifier"]:
            share, wavelength = self.share_absorbed(bank["amplifier"], junction)
            quantum = smaller(1.0, wavelength / bank["amplifier"]["signal"])
            light = (light / smaller(bank["amplifier"]["efficiency"], quantum) + bank["amplifier"]["threshold"]) / share
        one = light / bank["modules"]
        if "diode" in bank:
            threshold, slope = self.line(bank["diode"], junction)
            return (threshold + one / slope) / bank["diode"]["rated_current"]
        if len(bank["grid"][1]) > 1:
            raise Refusal("light is chosen for diodes and for tables of one drive only")
        return one / (bank["rated_input"] * bilinear(bank["grid"], junction, 1.0 + 0.0 * junction))

    def throttle(self, T):
        factor = 1.0 + 0.0 * T[0]
        for node, begin, end in self.net.throttles:
            factor = smaller(factor, clamp((end - T[node]) / (end - begin)))
        return factor

    def demands(self, T, mode):
        """Input that every bank asks for."""
        nothing = 0.0 * T[0]
        if not mode.beam:
            return [nothing for _ in self.net.banks]
        most = mode.drive * self.throttle(T)
        asked, working = [], sum(bank["modules"] for bank in self.net.banks if not bank["dead"])
        for bank in self.net.banks:
            if bank["dead"]:
                asked.append(nothing)
                continue
            drive = most
            if self.net.light is not None:
                light = self.net.light / self.net.transmission * bank["modules"] / working
                drive = smaller(most, self.drive_for_light(bank, light, T[bank["node"]]))
            if "diode" in bank:
                current = drive * bank["diode"]["rated_current"]
                asked.append(bank["modules"] * current * (bank["diode"]["turn_on"] + bank["diode"]["series_resistance"] * current))
            else:
                asked.append(bank["modules"] * bank["rated_input"] * drive)
        return asked

    def add_amplifier(self, amplifier, pump, junction, h):
        share, wavelength = self.share_absorbed(amplifier, junction)
        absorbed = pump * share
        quantum = smaller(1.0, wavelength / amplifier["signal"])
        signal = larger(0.0, smaller(amplifier["efficiency"], quantum) * (absorbed - amplifier["threshold"]))
        h[amplifier["node"]] += absorbed - signal
        h[amplifier["rest"]] += pump - absorbed
        return signal

    # ---- bus -------------------------------------------------------------------------------------------------------

    def heater_shares(self, T, mode):
        """How much of its power every heater asks for."""
        shares = []
        for k, heater in enumerate(self.net.heaters):
            sensed = sum(share * T[node] for node, share in heater["sensors"])
            if heater["stuck"] is not None:
                shares.append((1.0 if heater["stuck"] in ("on", "yes", "true") else 0.0) + 0.0 * sensed)
            elif mode.heaters is None:
                shares.append(clamp((heater["off"] - sensed) / (heater["off"] - heater["on"])))
            else:
                shares.append(mode.heaters[k] + 0.0 * sensed)
        return shares

    def battery_limits(self, T, charge):
        battery = self.net.battery
        warm = T[battery["node"]]

        def window(bounds):
            return clamp(smaller(warm - bounds[0], bounds[1] - warm) / RAMP_K)

        takes = smooth((battery["full"] - charge) / battery["taper"]) * window(battery["window_in"])
        gives = battery["most_out"] * smooth((charge - battery["least"]) / battery["derating"]) * window(battery["window_out"])
        return takes, gives

    def sunlight(self, T):
        """In W/m2 what the cells use, faded; 1 in surroundings at rest, where their power is that of the case."""
        if self.sky is None:
            return 1.0
        used = self.sky[USED + self.net.cells["face"]]
        fade, normal = self.net.cells["fade"]
        dark = used.real <= 0.0
        return used * np.where(dark, 0.0, larger(0.0 * used, 1.0 + fade * np.log(np.where(dark, normal, used) / normal)))

    def available(self, T):
        """By zone of the cells, and the most that can be delivered."""
        net, cells = self.net, self.net.cells
        by_zone = [share * cells["power"] * self.sunlight(T) * larger(cells["efficiency"] * (1.0 + cells["slope"] * (T[node] - cells["reference"])), 0.0)
                   for node, share in net.cell_zones]
        surplus = larger(sum(by_zone) - net.standby, 0.0)
        linear = 1.0 + net.proportional
        return by_zone, 2.0 * surplus / (linear + np.sqrt(linear**2 + 4.0 * net.quadratic * surplus))

    def share_out(self, wants, sun, takes, gives):
        """What everybody gets, in the order of priority; what the sun has left; charge and discharge of the battery."""
        battery, got, discharged, charged = self.net.battery, {}, 0.0, 0.0
        for who in self.net.priorities:
            if who == "charging":
                if battery:
                    charged = takes * smaller(sun, battery["most_in"])
                    sun = sun - charged
                continue
            by_sun = smaller(wants[who], sun)
            sun = sun - by_sun
            helped = 0.0
            if battery and (who != "lasers" or battery["feeds_lasers"]):
                helped = smaller(wants[who] - by_sun, gives)
                gives = gives - helped
                discharged = discharged + helped
            got[who] = by_sun + helped
        return got, sun, charged, discharged

    def add(self, T, charge, mode, h):
        """Adds the chain's heat to h; returns what the battery's charge gains."""
        net, nothing = self.net, 0.0 * T[0]
        self.light_W = nothing
        if not (net.cells or net.banks or net.heaters or net.housekeeping or net.battery):
            return nothing
        inputs = self.demands(T, mode)
        on_bus = sum((1.0 + bank["driver"]) * power for bank, power in zip(net.banks, inputs)) + nothing
        asks = [share * heater["power"] for share, heater in zip(self.heater_shares(T, mode), net.heaters)]
        wants = {"housekeeping": net.housekeeping + nothing, "heaters": sum(asks) + nothing, "lasers": on_bus}
        takes = gives = nothing
        if net.battery and mode.battery:
            takes, gives = self.battery_limits(T, charge)
        if net.cells:
            by_zone, most = self.available(T)
        else:
            most = sum(wants.values()) + (net.battery["most_in"] if net.battery else 0.0)
        got, left, charged, discharged = self.share_out(wants, most, takes, gives)

        delivered = most - left
        loss = net.standby + net.proportional * delivered + net.quadratic * delivered**2
        if net.cells:
            everything = sum(by_zone)
            short = left.real <= 0.0
            loss = np.where(short, everything - most, loss)
            drawn = np.where(short, everything, delivered + loss)
            self.take_from_cells(by_zone, everything, drawn, h)
        if net.conditioning_node is not None:
            h[net.conditioning_node] += loss
        if net.housekeeping_node is not None:
            h[net.housekeeping_node] += got["housekeeping"]
        self.heat_by_heaters(asks, wants["heaters"], got["heaters"], h)
        self.light_up(T, inputs, on_bus, got["lasers"], h)
        return self.battery_gain(charge, mode, charged - discharged + nothing, h)

    def take_from_cells(self, by_zone, everything, drawn, h):
        shunt = self.net.cells["shunt"]
        for (node, _), own in zip(self.net.cell_zones, by_zone):
            h[node] -= own if shunt is not None else own * ratio(drawn, everything)
        if shunt is not None:
            h[shunt] += everything - drawn

    def heat_by_heaters(self, asks, wanted, got, h):
        for heater, asked in zip(self.net.heaters, asks):
            for node, share in heater["places"]:
                h[node] += share * asked * ratio(got, wanted)

    def light_up(self, T, inputs, wanted, got, h):
        net, light = self.net, 0.0 * T[0]
        fed = ratio(got, wanted)
        for bank, asked in zip(net.banks, inputs):
            if bank["dead"]:
                continue
            power, junction = asked * fed, T[bank["node"]]
            lit = self.pump_W(bank, power, junction)
            h[bank["node"]] += power - lit
            if bank["driver"]:
                h[bank["driver_node"]] += bank["driver"] * power
            light = light + (self.add_amplifier(bank["amplifier"], lit, junction, h) if bank["amplifier"] else lit)
        self.light_W = net.transmission * light
        if net.optics_node is not None:
            h[net.optics_node] += (1.0 - net.transmission) * light

    def battery_gain(self, charge, mode, power, h):
        battery = self.net.battery
        if not battery or not mode.battery:
            return 0.0 * power
        heat = battery["resistance"] * power**2 + battery["leak"] * battery["capacity"] * charge / 100.0
        h[battery["node"]] += heat
        return power - heat


def ratio(part, whole):
    """1 where nothing is asked for."""
    nothing = np.real(whole) == 0.0
    return np.where(nothing, 1.0, part / np.where(nothing, 1.0, whole))

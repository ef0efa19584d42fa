"""Heat into every node of a tile (theory, equation 1), from docs/theory.md alone, for many states at a time.

A state is a column: temperatures of the nodes that are not fixed (of a store's nodes the enthalpy u in kelvin of the solid),
and last the battery's charge in percent. All laws take real and complex columns: derivatives are complex steps.
"""

import numpy as np

from case_network import FIN_POINTS
from power_chain import Chain
from quantities import STEFAN_BOLTZMANN
from sky import CHANNELS
from tables import Tables, larger, smaller

COMPLEX_STEP = 1e-30


def chebyshev():
    """Derivatives over 0..1 at Chebyshev points from 0 to 1 (Trefethen 2000, Spectral Methods in MATLAB, program cheb)."""
    n = FIN_POINTS
    x = np.cos(np.pi * np.arange(n + 1) / n)
    c = np.r_[2.0, np.ones(n - 1), 2.0] * (-1.0) ** np.arange(n + 1)
    gaps = x[:, None] - x[None, :]
    matrix = np.outer(c, 1.0 / c) / (gaps + np.eye(n + 1))
    matrix -= np.diag(matrix.sum(axis=1))
    first = -2.0 * matrix  # the points run from 1 down to -1
    return first, first @ first


FIRST_DERIVATIVE, SECOND_DERIVATIVE = chebyshev()


class Mode:
    """What is switched: `drive` is the commanded one, already less where a trip leaves a share; thermostats are on (1), off (0) or, for
    `heaters` None, averaged over their dead bands."""

    def __init__(self, beam, drive, shares, heaters=None, battery=False):
        self.beam, self.drive, self.shares, self.heaters, self.battery = beam, drive, shares, heaters, battery


class Tile:
    def __init__(self, network):
        self.net = net = network
        self.unknown = [i for i, node in enumerate(net.nodes) if node.fixed is None]
        self.stored = [k for k, i in enumerate(self.unknown) if net.nodes[i].capacity is not None]
        self.massless = [k for k, i in enumerate(self.unknown) if net.nodes[i].capacity is None]
        self.size = len(self.unknown) + (1 if net.battery else 0)
        if net.battery:
            self.stored.append(len(self.unknown))
        self.fixed = np.array([node.fixed or 0.0 for node in net.nodes])
        self.mode, self.resting = None, False  # resting: the battery's charge is held
        self.clock = None  # time of the columns that are worked on, one for all or one each; None: the steady surroundings
        self.place = {i: k for k, i in enumerate(self.unknown)}
        self.gather()
        self.chain = Chain(net)

    def gather(self):
        """Linear paths as one matrix, infrared as another, tables in groups."""
        net, n = self.net, len(self.net.nodes)
        self.conduction, self.radiation = np.zeros((n, n)), np.zeros((n, n))
        for matrix, paths, scale in ((self.conduction, net.conductances, 1.0), (self.radiation, net.infrared, STEFAN_BOLTZMANN)):
            for a, b, strength in paths:
                matrix[a, a] -= strength * scale
                matrix[b, b] -= strength * scale
                matrix[a, b] += strength * scale
                matrix[b, a] += strength * scale
        self.always = np.zeros(n)
        for i, area in net.to_space:
            self.radiation[i, i] -= STEFAN_BOLTZMANN * area
            self.always[i] += STEFAN_BOLTZMANN * area * net.space**4
        for i, power in net.sun:
            self.always[i] += power
        self.takes_up = np.zeros((n, CHANNELS))
        for i, value, area in net.lit:
            self.takes_up[i, value] += area
        self.held = net.index(net.sky.hold[0]) if net.sky and net.sky.hold else None
        self.bar_ends = np.array([(a, b) for a, b, _ in net.bars], dtype=int).reshape(-1, 2)
        self.bars = Tables([bar for _, _, bar in net.bars])
        self.layer_ends = np.array([layer[:2] for layer in net.layers], dtype=int).reshape(-1, 2)
        self.layers = [Tables([layer[k] for layer in net.layers]) for k in (2, 3)]
        self.contacts = np.array([layer[4] for layer in net.layers])[:, None]
        self.louvre_nodes = [i for i, _ in net.louvres]
        self.louvres = Tables([area for _, area in net.louvres])
        self.switches = Tables([table for _, _, table in net.switches])
        self.transport = Tables([pipe[3] for pipe in net.pipes])
        self.capacities = Tables([net.nodes[self.unknown[k]].capacity for k in self.stored if k < len(self.unknown)])
        self.with_capacity = [k for k in self.stored if k < len(self.unknown)]
        ends = [(a, b) for a, b, *_ in net.bars + net.layers + net.switches + net.pipes]
        self.incidence = np.zeros((n, len(ends)))
        for k, (a, b) in enumerate(ends):
            self.incidence[a, k] -= 1.0
            self.incidence[b, k] += 1.0

    def temperatures(self, x):
        """Of all nodes, from one state or from columns of states."""
        T = np.empty((len(self.net.nodes),) + x.shape[1:], dtype=x.dtype)
        T[...] = self.fixed.reshape((-1,) + (1,) * (x.ndim - 1))
        T[self.unknown] = x[: len(self.unknown)]
        for store in self.net.stores:
            T[store["nodes"]] = store_temperature(store, T[store["nodes"]])[0]
        return T

    def melted(self, x):
        """Melted share of every store."""
        shares = []
        for store in self.net.stores:
            u = np.array([x[self.place[i]] for i in store["nodes"]])
            shares.append(store_temperature(store, u)[1].mean())
        return shares

    def state_of(self, temperature, charge=None):
        """The state that has these temperatures: `temperature` of the unknown nodes."""
        x = np.array(temperature, dtype=float)
        for store in self.net.stores:
            for i in store["nodes"]:
                k = self.place[i]
                x[k] = store_enthalpy(store, x[k])
        return np.append(x, charge) if self.net.battery else x

    def load_W(self, index):
        _, power, when, _ = self.net.loads[index]
        if when == "always":
            return power
        if when == "beam_on":
            return power * self.mode.drive if self.mode.beam else 0.0
        if when == "beam_off":
            return 0.0 if self.mode.beam else power
        return power * self.mode.shares[index]

    def heat(self, x):
        """h_i for every unknown node and, with a battery, what its charge gains in watts: shape of x."""
        net = self.net
        T = self.temperatures(x)
        fourth = (T * T) ** 2
        h = self.conduction @ T + self.radiation @ fourth + self.always[:, None]
        for index, load in enumerate(net.loads):
            h[load[0]] += self.load_W(index)
        if self.louvre_nodes:
            emitted = STEFAN_BOLTZMANN * self.louvres.value(T[self.louvre_nodes]) * (fourth[self.louvre_nodes] - net.space**4)
            np.subtract.at(h, self.louvre_nodes, emitted)
        self.add_sky(T, h)
        if self.incidence.shape[1]:
            h += self.incidence @ np.concatenate(self.flows(T))
        for fin in net.fins:
            self.add_fin(fin, T, h)
        for store in net.stores:
            self.add_store(store, T, x, h)
        gain = self.chain.add(T, x[-1] if net.battery else None, self.mode, h)
        values = h[self.unknown]
        if self.resting and net.battery:
            gain = net.battery["start"] - x[-1]
        return np.concatenate([values, gain[None, :]]) if net.battery else values

    def add_sky(self, T, h):
        net = self.net
        if not net.sky:
            return
        self.chain.sky = values = net.sky.values(self.clock, T[self.held] if self.held is not None else None, T.shape[1])
        h += self.takes_up @ values
        if self.louvre_nodes:
            areas = self.louvres.value(T[self.louvre_nodes])
            for node, area, faces in zip(self.louvre_nodes, areas, net.louvre_faces):
                for value, share in faces:
                    h[node] += share * area * values[value]

    def flows(self, T):
        found = []
        if len(self.bar_ends):
            a, b = self.bar_ends.T
            found.append(self.bars.integral(T[a]) - self.bars.integral(T[b]))
        if len(self.layer_ends):
            a, b = self.layer_ends.T
            found.append((T[a] - T[b]) / (1.0 / self.layers[0].value(T[a]) + 1.0 / self.layers[1].value(T[b]) + self.contacts))
        if self.net.switches:
            a, b = (np.array([switch[k] for switch in self.net.switches]) for k in (0, 1))
            found.append(self.switches.value(T[a]) * (T[a] - T[b]))
        if self.net.pipes:
            a, b = (np.array([pipe[k] for pipe in self.net.pipes]) for k in (0, 1))
            along = np.array([pipe[2] for pipe in self.net.pipes])[:, None]
            most = smaller(self.transport.value(T[a]), self.transport.value(T[b]))
            found.append(larger(-most, smaller(most, along * (T[a] - T[b]))))
        return found

    @staticmethod
    def add_fin(fin, T, h):
        """Collocation of k t T'' = s sigma (T^4 - Ts^4): what is left over at a point is the heat of its node."""
        root, nodes, width, length, sheet, emittance, sink = fin
        profile = T[[root] + nodes]
        conductance = Tables([sheet]).value(T[[root]])
        first, second = FIRST_DERIVATIVE, SECOND_DERIVATIVE
        h[root] += (width / length * conductance * (first[[0]] @ profile))[0]
        h[nodes[:-1]] = conductance / length**2 * (second[1:-1] @ profile) - STEFAN_BOLTZMANN * emittance * (profile[1:-1] ** 4 - sink**4)
        h[nodes[-1]] = -(conductance / length**2 * (first[[-1]] @ profile))[0]

    def add_store(self, store, T, x, h):
        wall, nodes, Tm = store["wall"], store["nodes"], store["middle"]
        liquid, solid, contact = store["liquid_resistance"], store["solid_resistance"], store["contact"]
        if len(nodes) == 1:
            u = x[[self.place[nodes[0]]]]
            share = store_temperature(store, u)[1][0]
            across = T[wall] - T[nodes[0]]
            q = across / (contact + np.where(across.real > 0.0, liquid * share, solid * (1.0 - share)))
            h[wall] -= q
            h[nodes[0]] += q
            return
        # Steady conduction with one conductivity on either side of the melting point.
        P = [(T[i] - Tm) / np.where(T[i].real > Tm, liquid, solid) for i in nodes]
        half = 2.0 * P[0]  # over half a slice
        above = T[wall] - Tm + contact * half
        resistance = 0.5 * np.where(above.real > 0.0, liquid, solid)
        q = (T[wall] - Tm - resistance * half) / (resistance + contact)
        h[wall] -= q
        h[nodes[0]] += q
        for a, b, Pa, Pb in zip(nodes, nodes[1:], P, P[1:]):
            h[a] -= Pa - Pb
            h[b] += Pa - Pb

    def rates(self, x):
        """dx/dt of what is stored, and h of massless nodes (which must be zero)."""
        values = self.heat(x)
        values[self.with_capacity] /= self.capacities.value(x[self.with_capacity])
        if self.net.battery:
            values[-1] *= 100.0 / self.net.battery["capacity"]
        return values

    def derivatives(self, x, function):
        columns = np.repeat(np.asarray(x, dtype=complex)[:, None], len(x), axis=1)
        columns[np.diag_indices(len(x))] += 1j * COMPLEX_STEP
        return function(columns).imag / COMPLEX_STEP


def store_temperature(store, u):
    """Temperature and melted share of a store's node from its enthalpy in kelvin of the solid (theory, 7c)."""
    H = store["solid"] * (u - store["first"])
    share = np.where(H.real <= 0.0, 0.0 * H, np.where(H.real >= store["latent"], 1.0 + 0.0 * H, H / store["latent"]))
    hot = store["first"] + store["width"] + (H - store["latent"]) / store["liquid"]
    T = np.where(H.real <= 0.0, u, np.where(H.real >= store["latent"], hot, store["first"] + store["width"] * H / store["latent"]))
    return T, share


def store_enthalpy(store, T):
    first, last = store["first"], store["first"] + store["width"]
    if T <= first:
        return T
    H = store["latent"] * (T - first) / store["width"] if T <= last else store["latent"] + store["liquid"] * (T - last)
    return first + H / store["solid"]

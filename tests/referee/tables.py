"""Many properties over temperature read at once, at real or complex temperatures: linear between rows, end values held."""

import numpy as np

APART_K = 1e5   # the tables stand behind each other on one axis
BEFORE_K = 2e4  # a row before the first one holds its value


def larger(a, b):
    return np.where(a.real >= b.real, a, b)


def smaller(a, b):
    return np.where(a.real <= b.real, a, b)


class Tables:
    def __init__(self, properties):
        keys, starts, values, slopes, areas = [], [], [], [], []
        for k, prop in enumerate(properties):
            keys += [k * APART_K - BEFORE_K] + [k * APART_K + T for T in prop.temperature]
            starts += [prop.temperature[0] - BEFORE_K] + prop.temperature
            values += [prop.rows[0]] + prop.rows
            slopes += [0.0] + prop.slopes + [0.0]
            areas += [-BEFORE_K * prop.rows[0]] + prop.area
        self.keys, self.starts = np.array(keys), np.array(starts)
        self.values, self.slopes, self.areas = np.array(values), np.array(slopes), np.array(areas)
        self.offsets = np.arange(len(properties))[:, None] * APART_K

    def place(self, T):
        """T has one row per table."""
        return np.searchsorted(self.keys, T.real + self.offsets, side="right") - 1

    def value(self, T):
        i = self.place(T)
        return self.values[i] + self.slopes[i] * (T - self.starts[i])

    def integral(self, T):
        """From each table's first row."""
        i = self.place(T)
        part = T - self.starts[i]
        return self.areas[i] + part * (self.values[i] + 0.5 * self.slopes[i] * part)

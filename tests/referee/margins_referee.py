"""The spread of a plate's margin a second time, by SciPy's laws and NumPy's numbers: many more samples, independent ones.

    margins_referee.py CASE SAMPLES ARRAYS TILES

CASE is that of cases/known_margins: one plate, whose temperature is a closed form (docs/theory.md, sections 1 and 3). Prints JSON: of the
margin to `below`, as a single tile `mean_K`, `deviation_K`, `low_K` and `high_K` (5 and 95 %), and of the worst of TILES that share
their batches `worst_median_K`, `worst_low_K`.
"""

import json
import sys

sys.dont_write_bytecode = True

import numpy as np
import yaml
from scipy import stats

from quantities import ASTRONOMICAL_UNIT_M, STEFAN_BOLTZMANN, quantity

IRRADIANCE = 1361.0


def law_of(entry, value):
    """A SciPy law of an input; percentages are of its value."""
    def amount(text):
        text = str(text)
        return quantity(text) * value if text.endswith("%") else quantity(text)

    if "normal" in entry:
        return stats.norm(value, amount(entry["normal"]["standard_deviation"]))
    if "uniform" in entry:
        low, high = quantity(entry["uniform"]["from"]), quantity(entry["uniform"]["to"])
        return stats.uniform(low, high - low)
    bounded = entry["bounded"]
    deviation, half = amount(bounded["standard_deviation"]), amount(bounded["plus_minus"])
    return stats.truncnorm(-half / deviation, half / deviation, value, deviation)


def main():
    case_file, samples, arrays, tiles = sys.argv[1], *(int(word) for word in sys.argv[2:5])
    with open(case_file, encoding="utf-8") as file:
        case = yaml.safe_load(file)
    finish = case["materials"]["surfaces"]["absorber"]
    front_emittance = float(finish["emittance"]["value"])
    absorptance = float(finish["absorptance"]["value"])
    stated = {"materials.surfaces.absorber.absorptance.factor": 1.0,
              "surfaces.back.emittance": float(case["surfaces"]["back"]["emittance"]),
              "sun.distance": quantity(case["sun"]["distance"])}
    laws = []
    for entry in case["uncertainty"]:
        share = 0.0
        if "batch" in entry:
            share = quantity(str(entry["correlation"])) if "correlation" in entry else 1.0
        laws.append((entry["input"], law_of(entry, stated[entry["input"]]), share))
    limit = quantity(case["limits"]["plate"]["below"])
    space = quantity(case["space"])

    rng = np.random.default_rng(20240607)

    def margins(common_shape, own_shape):
        drawn = {}
        for name, law, share in laws:  # every batch has one input here
            z = np.sqrt(share) * rng.standard_normal(common_shape) + np.sqrt(1.0 - share) * rng.standard_normal(own_shape)
            drawn[name] = law.ppf(stats.norm.cdf(z))
        sunlight = IRRADIANCE * (ASTRONOMICAL_UNIT_M / drawn["sun.distance"]) ** 2
        absorbed = absorptance * drawn["materials.surfaces.absorber.absorptance.factor"] * sunlight
        emitting = STEFAN_BOLTZMANN * (front_emittance + drawn["surfaces.back.emittance"])
        return limit - (absorbed / emitting + space**4) ** 0.25

    single = margins((samples,), (samples,))
    worst = margins((arrays, 1), (arrays, tiles)).min(axis=1)
    low, high = np.quantile(single, [0.05, 0.95])
    print(json.dumps({
        "mean_K": single.mean(), "deviation_K": single.std(), "low_K": low, "high_K": high,
        "worst_median_K": np.quantile(worst, 0.5), "worst_low_K": np.quantile(worst, 0.05)}))


main()

"""Points of the Sobol sequence, not scrambled, as SciPy has them: <dimensions> <points>."""

import sys

from scipy.stats import qmc

dimensions, points = int(sys.argv[1]), int(sys.argv[2])
for row in qmc.Sobol(dimensions, scramble=False, bits=52).random(points):
    print(*(repr(float(share)) for share in row))

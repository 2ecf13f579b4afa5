"""Writes normal.json: the weight of a reading on an interval, worked out twice.

    python3 normal.py > normal.json        (Debian: python3-scipy, python3-mpmath)

scipy:  scipy.stats.norm, a difference of cdf below the reading, of sf above it
mpmath: 60 digits, rounded to the nearest float64

Both take every number of a row as the float64 that it is. SciPy's own difference loses
digits where an interval is narrow, so those rows have no scipy number.
"""
import json
import math
import sys

import mpmath
import scipy
from scipy.stats import norm

mpmath.mp.dps = 60


def exact(percent, absolute, x, lower, upper):
    u = (mpmath.mpf(percent) / 100 * abs(mpmath.mpf(x)) + mpmath.mpf(absolute)) / mpmath.sqrt(3)
    a = -mpmath.inf if lower is None else (mpmath.mpf(lower) - mpmath.mpf(x)) / u
    b = mpmath.inf if upper is None else (mpmath.mpf(upper) - mpmath.mpf(x)) / u
    if a > 0:  # from its own side
        a, b = -b, -a
    mass = (mpmath.erfc(-b / mpmath.sqrt(2)) - mpmath.erfc(-a / mpmath.sqrt(2))) / 2
    return float(mass)


def plain(percent, absolute, x, lower, upper):
    u = (percent / 100 * abs(x) + absolute) / math.sqrt(3)
    a = -math.inf if lower is None else (lower - x) / u
    b = math.inf if upper is None else (upper - x) / u
    if b - a < 0.5:
        return None
    return float(norm.sf(a) - norm.sf(b)) if a > 0 else float(norm.cdf(b) - norm.cdf(a))


rows = []
for percent, absolute in [(0.8, 0.02), (0.5, 0.02), (1.0, 0.0), (0.0, 0.05)]:
    for lower, upper in [(None, 4.75), (4.75, 5.25), (5.25, None), (5.0, 5.00001), (4.9999, 5.0)]:
        for x in [5.0, 4.75, 4.74, 4.9, 5.1, 5.2499, 5.3, 5.5, 4.2, 4.0, 6.0]:
            want = exact(percent, absolute, x, lower, upper)
            if want < 1e-290:
                continue
            rows.append({"percent": percent, "absolute": absolute, "x": x, "from": lower, "to": upper,
                         "mpmath": want, "scipy": plain(percent, absolute, x, lower, upper)})
json.dump({"scipy": scipy.__version__, "mpmath": mpmath.__version__, "rows": rows}, sys.stdout, indent=1)
print()

"""Student's t: the two-sided quantile, found from the closed form of its distribution."""

from __future__ import annotations

import math
from statistics import NormalDist


def inside(t: float, freedom: int) -> float:
    """P(|T| ≤ t) for T with `freedom` ≥ 1 degrees of freedom.

    The finite sums of Abramowitz & Stegun 26.7.3 (odd) and 26.7.4 (even), with θ = atan(t/√ν):
    odd  A = 2/π · (θ + sin θ (cos θ + 2/3 cos³ θ + … + (2·4…(ν−3))/(3·5…(ν−2)) cos^(ν−2) θ)), 2θ/π where ν = 1;
    even A = sin θ (1 + 1/2 cos² θ + … + (1·3…(ν−3))/(2·4…(ν−2)) cos^(ν−2) θ).
    """
    theta = math.atan(t / math.sqrt(freedom))
    sine, cosine = math.sin(theta), math.cos(theta)
    square = cosine * cosine
    if freedom % 2:
        term, total = cosine, 0.0
        for power in range(3, freedom + 1, 2):
            total += term
            term *= square * (power - 1) / power
        return 2 / math.pi * (theta + sine * total)
    term, total = 1.0, 0.0
    for power in range(2, freedom + 1, 2):
        total += term
        term *= square * (power - 1) / power
    return sine * total


def two_sided(share: float, freedom: int) -> float:
    """The t with P(|T| ≤ t) = `share`, for 0 < `share` < 1 and `freedom` ≥ 1 degrees of freedom.

    One and two degrees have closed forms; beyond, Newton's method on `inside`, which is concave for t > 0, so
    that it rises to the root from below and stops at the last bit it can resolve.

    Raises:
        ValueError: if `share` or `freedom` is out of range.
    """
    if not 0 < share < 1 or freedom < 1:
        raise ValueError("a share between 0 and 1 and at least one degree of freedom are needed")
    if freedom == 1:
        return math.tan(share * math.pi / 2)
    if freedom == 2:
        return share * math.sqrt(2 / (1 - share * share))
    t = NormalDist().inv_cdf((1 + share) / 2)  # below Student's t for every finite ν
    height = (
        2 * math.exp(math.lgamma((freedom + 1) / 2) - math.lgamma(freedom / 2)) / math.sqrt(freedom * math.pi)
    )
    for _ in range(60):
        slope = height * (1 + t * t / freedom) ** (-(freedom + 1) / 2)
        step = (share - inside(t, freedom)) / slope
        t += step
        if abs(step) <= 1e-14 * t:
            break
    return t

"""Hours that suffice in a stated part of jobs.

Each operation's hours follow a beta-PERT distribution of low, likely and high: its mean is
(low + 4 · likely + high) ÷ 6 (Malcolm, Roseboom, Clark and Fazar 1959, recalled) and its variance, that of a beta
distribution whose two shapes sum to 6, is (mean − low) · (high − mean) ÷ 7. The customary (high − low) ÷ 6 for the
deviation is too small for lopsided operations and would promise too much. Lines of one operation share one output and one crew and go up and down together, so
their deviations add. Different operations go partly together: the quality of the framing, access, weather and the
crew of the day bear on all of them alike. That shared job factor carries the part ρ of each variance:

    variance of the job = (1 − ρ) · Σ sd² + ρ · (Σ sd)²

with ρ = 0.5 (memory; no published value for this trade was found. 0 would promise that bad days cancel out
within one job, 1 that everything goes wrong at once). The sum is taken as lognormal with that mean and variance,
since hours cannot fall under zero and overrun further than they fall short.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Context, Decimal, localcontext
from statistics import NormalDist

SHARED_PART = Decimal("0.5")
METHOD = (
    "Beta-PERT mean and deviation of each operation; operations correlated at 0.5 (from memory, please "
    "confirm) through one job factor; lognormal sum. Likely hours are the sum of the likely hours of every line."
)
_PRECISION = Context(prec=28)

LowLikelyHigh = tuple[Decimal, Decimal, Decimal]


def hours_that_suffice(operations: Iterable[LowLikelyHigh], share: Decimal) -> Decimal:
    """Hours that suffice in `share` (0.5 to 0.99) of jobs, from each operation's low, likely and high hours."""
    with localcontext(_PRECISION):
        mean = squares = together = Decimal(0)
        for low, likely, high in operations:
            middle = (low + 4 * likely + high) / 6
            deviation = ((middle - low) * (high - middle) / 7).sqrt()
            mean += middle
            squares += deviation * deviation
            together += deviation
        if mean == 0:
            return Decimal(0)
        variance = (1 - SHARED_PART) * squares + SHARED_PART * together * together
        spread = (1 + variance / (mean * mean)).ln()  # of the logarithm, so that mean and variance are met
        steps = Decimal(NormalDist().inv_cdf(float(share))).quantize(Decimal("0.0000001"))
        return mean * (steps * spread.sqrt() - spread / 2).exp()

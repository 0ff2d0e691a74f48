"""The straight line through log-log points: weighted least squares with its standard errors."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Line:
    """y = intercept + slope · x, fitted to points; weights of 1 make it the plain fit.

    slope_sd, intercept_sd: standard errors.  r_squared: (weighted) coefficient of determination.
    spread: residual standard deviation for a point of weight 1.  mean_x: weighted mean of x.
    """

    slope: float
    intercept: float
    slope_sd: float
    intercept_sd: float
    r_squared: float
    spread: float
    mean_x: float
    sum_weights: float
    freedom: int

    def at(self, x: float) -> float:
        """The line's y at x."""
        return self.intercept + self.slope * x

    def sd_at(self, x: float) -> float:
        """Standard error of the line's y at x.

        s_y(x)² = s²/Σw + s_slope² (x − x̄)². Unweighted this is the standard's s_n √((N−1)/N · s_x² + (x − x̄)²).
        """
        away = self.slope_sd * (x - self.mean_x)
        return math.sqrt(self.spread * self.spread / self.sum_weights + away * away)


def fit(x: Sequence[float], y: Sequence[float], weights: Sequence[float] | None = None) -> Line:
    """The least-squares line through at least three points that do not share one x.

    With weights w: x̄ = Σwx/Σw, slope = Σw(x−x̄)(y−ȳ)/Σw(x−x̄)², intercept = ȳ − slope·x̄,
    s² = Σw·residual²/(N−2), s_slope = s/√Σw(x−x̄)², s_intercept = s_slope √(Σwx²/Σw),
    r² = 1 − Σw·residual²/Σw(y−ȳ)². With w = 1 these are the ISO 9972 block
    s_n = (1/s_x)√((s_y² − n s_xy)/(N−2)) and s_lnC = s_n √(Σx²/N); the residuals are summed directly, which
    loses fewer digits than the difference does.

    Raises:
        ValueError: if there are fewer than three points or all x are the same.
    """
    count = len(x)
    w = [1.0] * count if weights is None else weights
    if count < 3:
        raise ValueError("a line with an interval needs three points")
    total = math.fsum(w)
    mean_x = math.fsum(map(float.__mul__, w, x)) / total
    mean_y = math.fsum(map(float.__mul__, w, y)) / total
    dx = [value - mean_x for value in x]
    dy = [value - mean_y for value in y]
    sxx = math.fsum(a * b * b for a, b in zip(w, dx, strict=True))
    if sxx <= 0:
        raise ValueError("all pressures are the same")
    slope = math.fsum(a * b * c for a, b, c in zip(w, dx, dy, strict=True)) / sxx
    rest = math.fsum(a * (c - slope * b) ** 2 for a, b, c in zip(w, dx, dy, strict=True))
    syy = math.fsum(a * c * c for a, c in zip(w, dy, strict=True))
    spread = math.sqrt(rest / (count - 2))
    slope_sd = spread / math.sqrt(sxx)
    return Line(
        slope=slope,
        intercept=mean_y - slope * mean_x,
        slope_sd=slope_sd,
        intercept_sd=slope_sd * math.sqrt(sxx / total + mean_x * mean_x),
        r_squared=1 - rest / syy if syy > 0 else 0.0,
        spread=spread,
        mean_x=mean_x,
        sum_weights=total,
        freedom=count - 2,
    )

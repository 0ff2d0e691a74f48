"""Monte Carlo: how often the 95 % interval holds the truth."""

import math

import numpy as np
import pytest

from workers.engine.pressure.line import fit
from workers.engine.pressure.student import two_sided

TESTS = 40_000
C, N = 34.0, 0.65
STEPS = np.array([60.0, 55.0, 50.0, 45.0, 40.0, 35.0, 30.0, 25.0, 20.0, 12.0])
LN_STEPS = [math.log(step) for step in STEPS]


@pytest.mark.parametrize("weighted", [False, True], ids=["iso_9972", "flow_weighted"])
def test_the_95_percent_interval_holds_the_truth_in_94_to_96_of_100_tests(weighted):
    """Noise: 2 % of the flow in the plain method, a fixed 6 m³/h in the weighted one, which its weights assume."""
    rng = np.random.default_rng(20261125)
    true = C * STEPS**N
    noise = rng.standard_normal((TESTS, len(STEPS)))
    flows = true + 6.0 * noise if weighted else true * np.exp(0.02 * noise)
    t = two_sided(0.95, len(STEPS) - 2)
    ln_50 = math.log(50.0)
    held = np.zeros(3)
    for row, logs in zip(flows.tolist(), np.log(flows).tolist(), strict=True):
        line = fit(LN_STEPS, logs, [flow * flow for flow in row] if weighted else None)
        held += (
            abs(line.slope - N) <= t * line.slope_sd,
            abs(line.intercept - math.log(C)) <= t * line.intercept_sd,
            abs(line.at(ln_50) - math.log(C) - N * ln_50) <= t * line.sd_at(ln_50),
        )
    exponent, coefficient, flow_at_50 = held / TESTS
    assert 0.94 <= exponent <= 0.96
    assert 0.94 <= coefficient <= 0.96
    assert 0.94 <= flow_at_50 <= 0.96

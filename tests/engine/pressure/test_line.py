import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as some
from scipy import stats

from workers.engine.pressure.line import fit

points = some.lists(
    some.tuples(some.floats(1, 5), some.floats(3, 9), some.floats(0.01, 100)),
    min_size=4, max_size=20, unique_by=lambda point: round(point[0], 2),
)  # fmt: skip


@given(points)
def test_the_plain_line_equals_scipys(points):
    x, y, _ = zip(*points, strict=True)
    line, other = fit(x, y), stats.linregress(x, y)
    assert line.slope == pytest.approx(other.slope, rel=1e-7, abs=1e-9)
    assert line.intercept == pytest.approx(other.intercept, rel=1e-7, abs=1e-8)
    assert line.r_squared == pytest.approx(other.rvalue**2, abs=1e-7)
    # scipy finds the error from 1 - r², which loses digits where the points lie on the line
    assert line.slope_sd == pytest.approx(other.stderr, rel=1e-4, abs=1e-6)
    assert line.intercept_sd == pytest.approx(other.intercept_stderr, rel=1e-4, abs=1e-6)


@given(points)
def test_the_weighted_line_equals_the_matrix_solution(points):
    x, y, w = (np.array(column) for column in zip(*points, strict=True))
    line = fit(list(x), list(y), list(w))
    design = np.column_stack([np.ones_like(x), x])
    inverse = np.linalg.inv(design.T @ (w[:, None] * design))
    intercept, slope = inverse @ design.T @ (w * y)
    rest = (w * (y - intercept - slope * x) ** 2).sum() / (len(x) - 2)
    assert line.slope == pytest.approx(slope, rel=1e-6, abs=1e-6)
    assert line.intercept == pytest.approx(intercept, rel=1e-6, abs=1e-6)
    assert line.slope_sd == pytest.approx(np.sqrt(rest * inverse[1, 1]), rel=1e-6, abs=1e-9)
    assert line.intercept_sd == pytest.approx(np.sqrt(rest * inverse[0, 0]), rel=1e-6, abs=1e-9)
    at = np.array([1.0, 3.3])
    assert line.sd_at(3.3) == pytest.approx(np.sqrt(rest * at @ inverse @ at), rel=1e-6, abs=1e-9)


def test_two_points_make_no_line():
    with pytest.raises(ValueError, match="three points"):
        fit([1.0, 2.0], [1.0, 2.0])


def test_points_at_one_pressure_make_no_line():
    with pytest.raises(ValueError, match="the same"):
        fit([1.0, 1.0, 1.0], [1.0, 2.0, 3.0])

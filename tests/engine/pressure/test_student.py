import pytest
from hypothesis import given
from hypothesis import strategies as some
from scipy import stats

from workers.engine.pressure.student import inside, two_sided


@pytest.mark.parametrize("freedom", [*range(1, 41), 58, 97, 98, 1000])
@pytest.mark.parametrize("share", [0.5, 0.8, 0.9, 0.95, 0.99, 0.995, 0.999])
def test_the_quantile_equals_scipys(share, freedom):
    assert two_sided(share, freedom) == pytest.approx(stats.t.ppf((1 + share) / 2, freedom), rel=1e-10)


@given(t=some.floats(0, 200), freedom=some.integers(1, 300))
def test_the_distribution_equals_scipys(t, freedom):
    assert inside(t, freedom) == pytest.approx(1 - 2 * stats.t.sf(t, freedom), abs=1e-12)


@given(share=some.floats(0.01, 0.9999), freedom=some.integers(1, 300))
def test_the_quantile_undoes_the_distribution(share, freedom):
    assert inside(two_sided(share, freedom), freedom) == pytest.approx(share, abs=1e-12)


@pytest.mark.parametrize(("share", "freedom"), [(0, 5), (1, 5), (0.95, 0)])
def test_a_share_or_freedom_out_of_range_is_refused(share, freedom):
    with pytest.raises(ValueError, match="between 0 and 1"):
        two_sided(share, freedom)

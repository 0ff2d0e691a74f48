import pytest

from api_schema.edge_side import edge_sides

GABLE = ((0, 0), (6000, 0), (6000, 2000), (3000, 4500), (0, 2000))
STEEP_GABLE = ((0, 0), (2000, 0), (2000, 1000), (1000, 5000), (0, 1000))
LEAN_TO = ((0, 0), (5000, 0), (5000, 2400), (0, 3600))
SLOPE = ((0, 0), (6000, 0), (5000, 4000), (1000, 4000))
ELL = ((0, 0), (5000, 0), (5000, 1200), (2400, 1200), (2400, 2600), (0, 2600))
BACK = ((0, 0), (5000, 0), (5000, 2500), (1500, 2500), (1500, 2000), (3500, 2000), (3500, 1500), (0, 1500))
TRIANGLE = ((0, 0), (4000, 0), (1000, 3000))
ON_ITS_POINT = ((0, 3000), (2000, 0), (4000, 3000))


def exact(outline):
    return [side.exact for side in edge_sides(outline)]


def nearest(outline):
    return [side.nearest for side in edge_sides(outline)]


@pytest.mark.parametrize(
    ("outline", "named"),
    [
        (GABLE, "lower right slanting slanting left"),
        (LEAN_TO, "lower right slanting left"),
        (SLOPE, "lower slanting upper slanting"),
        (ELL, "lower right upper right upper left"),
        (BACK, "lower right upper left lower left upper left"),
        (TRIANGLE, "lower slanting slanting"),
        (ON_ITS_POINT, "slanting slanting upper"),
    ],
)
def test_a_level_or_upright_edge_is_named_by_its_side_and_any_other_slants(outline, named):
    assert exact(outline) == named.split()


@pytest.mark.parametrize(
    ("outline", "named"),
    [
        (GABLE, "lower right upper upper left"),
        (STEEP_GABLE, "lower right right left left"),
        (SLOPE, "lower right upper left"),
        (TRIANGLE, "lower upper left"),  # its second edge at half a right angle
        (ON_ITS_POINT, "left right upper"),
    ],
)
def test_a_slanting_edge_is_nearest_to_one_of_four_sides(outline, named):
    assert nearest(outline) == named.split()


@pytest.mark.parametrize("outline", [GABLE, STEEP_GABLE, LEAN_TO, SLOPE, ELL, BACK, TRIANGLE, ON_ITS_POINT])
def test_an_edge_lies_where_it_lies_whichever_way_round_its_outline_runs(outline):
    turned = (outline[0], *reversed(outline[1:]))  # edge 0 is the last one now
    assert edge_sides(turned) == edge_sides(outline)[::-1]


def test_an_outline_without_corners_has_no_sides():
    assert edge_sides(()) == ()

"""The picture beside the building's form: what is typed is seen, before anything is saved."""

from __future__ import annotations

from collections.abc import Callable

from tests.pages.desk import Desk


def _drawn(desk: Desk, css: str) -> int:
    return len(desk.all(f"[data-house] path{css}"))


def test_dormers_rooflights_and_internal_walls_are_seen_as_they_are_typed(
    desk_at: Callable[..., Desk],
) -> None:
    desk = desk_at()
    desk.sign_in()
    desk.open("/jobs/new?from=building")
    desk.choose("/building/storeys/0/roof/layer", "the rafters")
    desk.type("/building/storeys/0/roof/pitch_deg", "50")  # too steep for a slope to be seen from behind
    desk.until(lambda: _drawn(desk, ".roof-face") == 2, what="a slope in each view")
    walls = _drawn(desk, ".wall-face")

    desk.press("Add a dormer")
    at = "/building/storeys/0/dormers/0"
    desk.until(lambda: desk.all(f'[name="{at}/wall"]'))
    for name, words in (
        ("wall", "south"),
        ("from_left_mm", "4 m"),
        ("width_mm", "2 m"),
        ("height_mm", "3.6 m"),
    ):
        desk.type(f"{at}/{name}", words)
    desk.until(
        lambda: _drawn(desk, ".wall-face") == walls + 2, what="the dormer's front and one of its cheeks"
    )
    assert _drawn(desk, ".roof-face") == 3
    desk.choose(f"{at}/roof", "gable")
    desk.type(f"{at}/pitch_deg", "30")
    desk.until(lambda: _drawn(desk, ".roof-face") == 4, what="both sides of its gabled roof")

    desk.press("Add an opening")
    at = "/building/openings/0"
    desk.until(lambda: desk.all(f'[name="{at}/wall"]'))
    desk.type(f"{at}/wall", "north")
    desk.choose(f"{at}/_on", "the slope")
    for name, words in (
        ("from_left_mm", "2 m"),
        ("_up", "1 m"),
        ("width_mm", "78 cm"),
        ("height_mm", "118 cm"),
    ):
        desk.type(f"{at}/{name}", words)
    desk.until(lambda: _drawn(desk, ".opening") == 1, what="the rooflight in the view of its slope")
    desk.choose(f"{at}/_on", "the wall")
    desk.type(f"{at}/wall", "dormer-1")
    desk.type(f"{at}/from_left_mm", "50 cm")
    desk.type(f"{at}/_up", "2.6 m")
    desk.type(f"{at}/height_mm", "80 cm")
    desk.until(lambda: _drawn(desk, ".opening") == 1, what="the window in the dormer's front")

    desk.press("Add an internal wall")
    at = "/building/storeys/0/partitions/0"
    desk.until(lambda: desk.all(f'[name="{at}/from_mm/0"]'))
    for name, words in (("from_mm/0", "4 m"), ("from_mm/1", "0"), ("to_mm/0", "4 m"), ("to_mm/1", "8 m")):
        desk.type(f"{at}/{name}", words)
    desk.until(lambda: _drawn(desk, ".inside") == 2, what="the internal wall, dashed in both views")
    assert desk.complaints() == []

"""English words of the isometric drawing of a building."""

TEXTS: dict[str, str] = {
    "isometric.title": "The lined surfaces of the building, seen from two sides",
    "isometric.front_right": "Seen from the front right",
    "isometric.back_left": "Seen from the back left",
    "isometric.below": "Not seen from above: {surfaces}",
    "isometric.orientation": "For orientation, not to scale. The front is the lower side of the plan. Grey faces carry no membrane.",
}

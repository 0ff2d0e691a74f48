"""What is measured in these tests."""

from typing import Any

ROOM: dict[str, Any] = {
    "reference": "ROOM-1",
    "title": "One room",
    "surfaces": [
        {
            "id": "north",
            "kind": "wall",
            "outline_mm": [[0, 0], [6200, 0], [6200, 2450], [0, 2450]],
            "members": {"direction": "up", "centres_mm": 400, "width_mm": 45},
            "edges": [{"edge": edge, "finish": "timber"} for edge in range(4)],
            "openings": [{"id": "w1", "kind": "window", "outline_mm": [[1800, 900], [3600, 900], [3600, 2100], [1800, 2100]]}],
            "penetrations": [{"id": "p1", "kind": "pipe", "diameter_mm": 110, "at_mm": [5200, 600], "free_end": True}],
        }
    ],
}  # fmt: skip

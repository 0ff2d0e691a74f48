"""A job that works, for the API reference. Everything in it is invented."""

from __future__ import annotations

from typing import Any

JOB: dict[str, Any] = {
    "reference": "PX-014",
    "title": "Plot 14, two walls of the living room",
    "customer": {"name": "Example Homes", "address": ["1 Sample Street", "Exampletown"]},
    "insulation": "in_place",
    "stapler": "electric",
    "target": {"n50_per_h": 0.6},
    "volume_m3": 412.0,
    "surfaces": [
        {
            "id": "living-north",
            "room": "living",
            "kind": "wall",
            "outline_mm": [[0, 0], [6200, 0], [6200, 2450], [0, 2450]],
            "members": {"direction": "up", "centres_mm": 400, "width_mm": 45, "first_mm": 0},
            "edges": [{"edge": 0, "finish": "slab"}, {"edge": 2, "finish": "timber"}],
            "openings": [
                {
                    "id": "w1",
                    "kind": "window",
                    "outline_mm": [[1800, 900], [3600, 900], [3600, 2100], [1800, 2100]],
                }
            ],
            "penetrations": [
                {"id": "p1", "kind": "pipe", "diameter_mm": 110, "at_mm": [5200, 300], "free_end": False},
                {
                    "id": "c1", "kind": "cable", "diameter_mm": 9, "at_mm": [400, 1200], "free_end": True,
                    "count": 3,
                },
            ],
        },
        {
            "id": "living-east",
            "room": "living",
            "kind": "wall",
            "outline_mm": [[0, 0], ["4.2 m", 0], ["4.2 m", 2450], [0, 2450]],
            "members": {"direction": "up", "centres_mm": 400},
            "edges": [{"edge": 0, "finish": "slab"}, {"edge": 1, "finish": "timber"}, {"edge": 2, "finish": "timber"}],
        },
    ],
    "junctions": [{"a": {"surface": "living-north", "edge": 1}, "b": {"surface": "living-east", "edge": 3}}],
}  # fmt: skip

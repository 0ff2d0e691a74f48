"""The component values and targets to start from, each with where it comes from.

"published" values were read at the source named; "memory" ones are recalled and to be confirmed.
"""

from __future__ import annotations

from decimal import Decimal

from api_schema.job import Target
from api_schema.leakage import LeakageValue, LeakageValues, TargetPreset
from api_schema.provenance import ProvenanceKind

_LIBRARY = "NIST CONTAM component library"
_TABLE = "legacy ASHRAE table of component leakage, recalled"


def default_leakage_values() -> LeakageValues:
    """Component values of ordinary houses, 4 Pa and discharge coefficient 1; tests move them toward the firm."""
    return LeakageValues(
        values=(
            LeakageValue(
                "membrane_face", "m2", 0.055, 0.15, 0.21, "memory",
                f"{_TABLE}: wall with a continuous barrier 0.15 by m², its laps included; range also recalled",
            ),
            LeakageValue(
                "ceiling_corner", "m", 0.16, 0.5, 1.5, "published",
                f"{_LIBRARY}: ceiling–wall joint tight 0.5, typical 1.5; the low value is recalled from the {_TABLE}",
            ),
            LeakageValue(
                "other_corner", "m", 0.16, 0.5, 1.5, "memory",
                "no figure of its own was found: taken as the ceiling–wall joint",
            ),
            LeakageValue(
                "slab_edge", "m", 0.075, 0.8, 4.0, "published",
                f"{_LIBRARY}: floor–wall joint tight 0.8, typical 4; the low value is recalled from the {_TABLE}",
            ),
            LeakageValue(
                "masonry_edge", "m", 0.075, 0.8, 4.0, "memory",
                "no figure of its own was found: taken as the floor–wall joint",
            ),
            LeakageValue(
                "timber_edge", "m", 0.16, 0.5, 1.5, "memory",
                "no figure of its own was found: taken as the ceiling–wall joint",
            ),
            LeakageValue(
                "frame_joint", "m", 0.09, 0.15, 0.51, "memory",
                f"{_TABLE}: window framing in timber by m² of window, sealed 0.3 to 0.5, unsealed 1.7; by metre for a window of 1.2 × 1.2 m",
            ),
            LeakageValue(
                "window", "m", 0.1, 0.24, 0.87, "memory",
                f"{_TABLE}: by metre of sash, side-hung with seals 0.24 (from 0.1), sliding with seals 0.87; the perimeter stands for the sash",
            ),
            LeakageValue(
                "door", "piece", 4.0, 12.0, 21.0, "published",
                f"{_LIBRARY}: exterior door tight 12, typical 21; the low value is recalled from the {_TABLE}",
            ),
            LeakageValue(
                "hatch", "piece", 8.0, 18.0, 30.0, "published",
                f"{_LIBRARY}: attic hatch tight 18, typical 30; the low value is recalled from the {_TABLE}",
            ),
            LeakageValue("collar", "piece", 1.0, 2.0, 2.0, "memory", f"{_TABLE}: pipe or wire, sealed 2 (1 to 2)"),
            LeakageValue(
                "taped_penetration", "piece", 1.0, 2.0, 6.0, "memory",
                f"{_TABLE}: pipe or wire, sealed 2 (1 to 2); the high value is the unsealed 6, since tape in strips is easily left open",
            ),
            LeakageValue(
                "section", "piece", 1.0, 2.0, 6.0, "memory", "no figure of its own was found: taken as a taped penetration"
            ),
            LeakageValue(
                "flue", "piece", 2.0, 6.0, 24.0, "memory", f"{_TABLE}: pipe, unsealed 6 (2 to 24), taken for a closure without tape or collar"
            ),
            LeakageValue(
                "forgotten_penetration", "piece", 2.0, 6.0, 24.0, "memory", f"{_TABLE}: pipe or wire, unsealed 6 (2 to 24)"
            ),
        )
    )  # fmt: skip


def target_presets() -> tuple[TargetPreset, ...]:
    """Targets to choose from; each says to check the edition in force where you build."""
    return (
        _by_volume("passive-house", "Passive House", "0.6", "memory"),
        _by_volume("passive-house-retrofit", "Passive House, retrofit class", "1.0", "memory"),
        _by_volume("r-2000", "R-2000 (Canada)", "1.5", "memory"),
        _by_volume("din-4108-7", "DIN 4108-7, without a ventilation plant", "3.0", "published"),
        _by_volume("din-4108-7-ventilated", "DIN 4108-7, with a ventilation plant", "1.5", "published"),
        _by_volume("iecc-2021-zones-1-2", "IECC 2021, climate zones 1 and 2", "5.0", "published"),
        _by_volume("iecc-2021-zones-3-8", "IECC 2021, climate zones 3 to 8", "3.0", "published"),
        _by_volume("spain-db-he1-compact-low", "Spain DB-HE1, volume by envelope area up to 2 m", "6.0", "memory"),
        _by_volume("spain-db-he1-compact-high", "Spain DB-HE1, volume by envelope area from 4 m", "3.0", "memory"),
        _by_area("england-ad-l-limit", "England, Approved Document L 2021, limit", "8.0", "published"),
        _by_area("england-ad-l-notional", "England, Approved Document L 2021, notional dwelling", "5.0", "memory"),
        _by_area("ireland-tgd-l", "Ireland, Technical Guidance Document L", "5.0", "memory"),
    )  # fmt: skip


def _by_volume(name: str, words: str, n50: str, provenance: ProvenanceKind) -> TargetPreset:
    return TargetPreset(name, words, Target(n50_per_h=Decimal(n50)), provenance)  # fmt: skip


def _by_area(name: str, words: str, q50: str, provenance: ProvenanceKind) -> TargetPreset:
    return TargetPreset(name, words, Target(q50_m3_h_m2=Decimal(q50)), provenance)  # fmt: skip

"""English words of what a plan and a walk-round say, by key."""

from __future__ import annotations

from collections.abc import Mapping

PLAN_WORDS: Mapping[str, str] = {}

"""English words of what the analysis of a fan test says, by key."""

from __future__ import annotations

from collections.abc import Mapping

TEST_WORDS: Mapping[str, str] = {}

"""Every word that a document or drawing prints; English stands in several files, each with its subject.

Another language is one file beside `en.py` with the same keys, named in `_CATALOGUES`. Words a user typed
(titles, notes, product names) and where values come from stand in the records instead. What the engine says is kept by
its key (`api_schema.said`), and its English words are part of the catalogue.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from decimal import Decimal

from api_schema.engine_words import ENGINE_WORDS
from api_schema.said import Part, Said
from workers.documents.formats import Formats
from workers.documents.texts import cutting_en, en, isometric_en, offers_en, paper_en, pressure_en, survey_en

_CATALOGUES: Mapping[str, Mapping[str, str]] = {
    "en": {
        **en.TEXTS,
        **pressure_en.TEXTS,
        **offers_en.TEXTS,
        **survey_en.TEXTS,
        **paper_en.TEXTS,
        **cutting_en.TEXTS,
        **isometric_en.TEXTS,
        **ENGINE_WORDS,
    }
}


class Texts:
    """The catalogue of one language; `texts("key", name=…)` fills in what the sentence names."""

    def __init__(self, language: str) -> None:
        asked = language.partition("_")[0]
        self.language = asked if asked in _CATALOGUES else "en"
        self._texts = _CATALOGUES[self.language]

    def __call__(self, key: str, **named: object) -> str:
        """The text of a key; `KeyError` where the catalogue lacks it."""
        return self._texts[key].format(**named)

    def sentence(self, sentence: Said | None, formats: Formats, otherwise: str) -> str:
        """What the engine said, in this language; `otherwise` where it was kept in words alone."""
        if sentence is None or sentence.key not in self._texts:
            return otherwise
        return self(sentence.key, **{part.name: self._part(part, formats) for part in sentence.parts})

    def _part(self, part: Part, formats: Formats) -> str:
        if part.kind == "number":
            return formats.figure(Decimal(part.value))
        if part.kind == "day":
            return formats.date(datetime.date.fromisoformat(part.value))
        return self._texts.get(part.value, part.value) if part.kind == "key" else part.value

    def unit(self, unit: str, quantity: Decimal | int) -> str:
        """A unit as it is written beside a quantity; an unknown one as it stands."""
        return self._texts.get(f"unit.{unit}.{'one' if quantity == 1 else 'other'}", unit)

    def lines(self, prefix: str) -> list[str]:
        """Every text whose key starts with a prefix, in the catalogue's order."""
        return [text for key, text in self._texts.items() if key.startswith(prefix)]

"""The trade pack: for plumber and electrician, each thing that passes through the layer and the collar it wants."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from decimal import Decimal

from api_schema.account import Profile
from api_schema.captive import CaptiveCost
from api_schema.job import Job, followed
from api_schema.plan import Plan
from api_schema.price_book import PriceBook
from api_schema.surface import Penetration, PenetrationKind, Surface
from api_schema.take_off import Sealing
from workers.documents.drawing.pen import text_width
from workers.documents.formats import Formats
from workers.documents.letterhead import PLAIN, Letterhead
from workers.documents.pages import in_tables, page
from workers.documents.renderer import to_pdf
from workers.documents.texts import Texts

_TRADES: tuple[tuple[str, tuple[PenetrationKind, ...]], ...] = (
    ("plumber", ("pipe", "duct")),
    ("electrician", ("cable",)),
    ("heating", ("flue",)),
)  # sections of timber and steel are nobody's who comes later
_TYPE_MM = 3.8  # ten points, semibold
_NARROWEST_MM, _WIDEST_MM = 14, 30  # the column of names


def render_trade_pack(
    job: Job,
    plan: Plan,
    captives: Sequence[CaptiveCost],
    price_book: PriceBook,
    profile: Profile,
    *,
    made_at: datetime.datetime,
    letterhead: Letterhead = PLAIN,
) -> bytes:
    """The trade pack as PDF, A4; the same input gives the same bytes. Raises `DocumentError`.

    `job` has its surfaces as they were planned; `captives` are the engine's for the same plan. A page for each trade
    that has something to do.
    """
    texts, formats = Texts(profile.language), Formats(profile.language)
    pack = _Pack(job, plan, captives, price_book, texts, formats)
    trades = [
        {
            "name": texts(f"trade.{trade}"),
            "free": list(in_tables(list(pack.rows(kinds, free=True)))),
            "captive": list(in_tables(list(pack.rows(kinds, free=False)))),
            "collars": pack.collars(kinds),
            "saved": pack.saved(kinds),
            "hot": kinds == ("flue",),
            "cautions": texts.lines("trade.caution.hot." if kinds == ("flue",) else "trade.caution.all."),
        }
        for trade, kinds in _TRADES
    ]
    html = page(
        "trade_pack.html",
        title=f"{texts('trade.title')} {job.reference}",
        reference=job.reference,
        profile=profile,
        made_at=made_at,
        letterhead=letterhead,
        job=job,
        brought=_brought(job, texts),
        trades=[trade for trade in trades if trade["free"] or trade["captive"]],
        name_mm=pack.name_mm(),
    )
    return to_pdf(html, letterhead.assets, made_at)


def _brought(job: Job, texts: Texts) -> str:
    """Who brings the collars, and where that was agreed."""
    words, agreed = texts(f"trade.brought.{job.collars}"), followed(job)
    if agreed is None:
        return words
    return f"{words} {texts('trade.brought.agreed', number=agreed.number, revision=agreed.revision)}"


class _Pack:
    """What the rows are looked up in."""

    def __init__(
        self,
        job: Job,
        plan: Plan,
        captives: Sequence[CaptiveCost],
        book: PriceBook,
        texts: Texts,
        formats: Formats,
    ) -> None:
        self._job, self._texts, self._formats, self._currency = job, texts, formats, book.currency
        self._sealings = {(one.surface, one.penetration): one for one in plan.take_off.penetrations}
        self._costs = {(one.surface, one.penetration): one for one in captives}
        self._names = {product.code: product.name for product in book.products}

    def name_mm(self) -> int:
        """How wide the column of names is: as the longest asks for, within bounds."""
        names = [hole.id for surface in self._job.surfaces for hole in surface.penetrations]
        widest = max((text_width(name, _TYPE_MM) for name in names), default=0.0)
        return max(_NARROWEST_MM, min(_WIDEST_MM, int(widest) + 4))

    def rows(self, kinds: Sequence[PenetrationKind], *, free: bool) -> Iterator[dict[str, str]]:
        for surface, hole, sealing in self._found(kinds):
            if (sealing.method == "collar") == free:
                row = {
                    "name": hole.id,
                    "what": self._what(hole),
                    "where": f"{surface.room}, {surface.id}" if surface.room else surface.id,
                    "right": str(hole.at_mm[0]),
                    "up": str(hole.at_mm[1]),
                }
                yield row | (self._collar(sealing) if free else self._instead(surface, hole, sealing))

    def collars(self, kinds: Sequence[PenetrationKind]) -> list[tuple[str, str]]:
        counts: dict[str, int] = {}
        for _, _, sealing in self._found(kinds):
            if sealing.product is not None:
                counts[sealing.product] = counts.get(sealing.product, 0) + sealing.count
        return [(self._names.get(code, code), self._formats.number(count)) for code, count in counts.items()]

    def saved(self, kinds: Sequence[PenetrationKind]) -> str:
        """What slipped-on collars would have saved on all captive ones together; empty where nothing."""
        saved = sum(
            (
                self._costs[key].saved
                for key in ((surface.id, hole.id) for surface, hole, _ in self._found(kinds))
                if key in self._costs
            ),
            Decimal(0),
        )
        return self._texts("trade.saved", money=self._money(saved)) if saved > 0 else ""

    def _found(self, kinds: Sequence[PenetrationKind]) -> Iterator[tuple[Surface, Penetration, Sealing]]:
        for surface in self._job.surfaces:
            for hole in surface.penetrations:
                sealing = self._sealings.get((surface.id, hole.id))
                if hole.kind in kinds and sealing is not None:
                    yield surface, hole, sealing

    def _what(self, hole: Penetration) -> str:
        size = self._texts(f"kind.{hole.kind}")
        if hole.diameter_mm:
            size += f" {hole.diameter_mm} mm"
        if hole.count > 1:
            size = f"{hole.count} × {size}"
        return f"{size}: {hole.note}" if hole.note else size

    def _collar(self, sealing: Sealing) -> dict[str, str]:
        return {"how": self._names.get(str(sealing.product), str(sealing.product)), "cost": ""}

    def _instead(self, surface: Surface, hole: Penetration, sealing: Sealing) -> dict[str, str]:
        cost = self._costs.get((surface.id, hole.id))
        if sealing.method == "non_combustible":
            return {"how": self._texts("trade.hot"), "cost": ""}
        if cost is None:
            note = self._texts.sentence(sealing.note_said, self._formats, sealing.note)
            return {"how": note or self._texts("trade.no_collar"), "cost": ""}
        return {
            "how": self._texts(
                "trade.taped", collar=cost.collar_name, minutes=self._formats.number(cost.taped_minutes, 0)
            ),
            "cost": self._texts(
                "trade.costs", taped=self._money(cost.taped_cost), collar=self._money(cost.collar_cost)
            ),
        }

    def _money(self, amount: Decimal) -> str:
        return self._formats.money(amount, self._currency)

"""What every part of a site pack looks things up in."""

from __future__ import annotations

from dataclasses import dataclass, field

from api_schema.job import Job
from api_schema.layout import SurfaceLayout
from api_schema.plan import Plan
from api_schema.price_book import PriceBook
from api_schema.slanted import SlantedPiece, slanted_pieces
from api_schema.spliced import SplicedPart, spliced_parts
from api_schema.standard import Standard
from api_schema.surface import Penetration, Surface
from api_schema.take_off import Sealing
from workers.documents.drawing.holes import size_in_words
from workers.documents.formats import Formats
from workers.documents.texts import Texts


@dataclass(frozen=True, slots=True)
class Pack:
    """A job, its plan, and the ways from a name to what it names; drawings collect in `assets`."""

    job: Job
    plan: Plan
    standard: Standard
    texts: Texts
    formats: Formats
    surfaces: dict[str, Surface]
    roll_of: dict[str, int]
    product_names: dict[str, str]
    anchors: dict[str, str]
    slanted: dict[str, SlantedPiece]
    parts: dict[str, SplicedPart]
    assets: dict[str, bytes] = field(default_factory=dict)

    @classmethod
    def of(
        cls, job: Job, plan: Plan, standard: Standard, language: str, price_book: PriceBook | None = None
    ) -> Pack:
        """Everything looked up once; the price book names what others bring, which the plan does not buy."""
        products = () if price_book is None else price_book.products
        return cls(
            job,
            plan,
            standard,
            Texts(language),
            Formats(language),
            {surface.id: surface for surface in job.surfaces},
            {piece: roll.roll for roll in plan.cut_list.rolls for cut in roll.cuts for piece in cut.pieces},
            {product.code: product.name for product in products}
            | {line.product: line.name for line in plan.order_lines},
            {layout.id: f"surface-{number}" for number, layout in enumerate(plan.layout.surfaces, start=1)},
            slanted_pieces(plan.layout, plan.cut_list),
            spliced_parts(plan.cut_list),
        )

    @property
    def fixing_centres_mm(self) -> int:
        """How far apart the staples stand in this job."""
        if self.job.insulation == "blown_in":
            return self.standard.fixing_centres_blown_in_mm
        return self.standard.fixing_centres_in_place_mm

    def product(self, code: str) -> str:
        """A product's name, its code where the order does not name it."""
        return self.product_names.get(code, code)

    def layout_and_surface(self) -> list[tuple[SurfaceLayout, Surface]]:
        """Every laid surface in the job's order."""
        return [(layout, self.surfaces[layout.id]) for layout in self.plan.layout.surfaces]

    def sealings_of(self, surface: str) -> list[tuple[Sealing, Penetration]]:
        """How each penetration of a surface is sealed, in the survey's order."""
        penetrations = {one.id: one for one in self.surfaces[surface].penetrations}
        return [
            (sealing, penetrations[sealing.penetration])
            for sealing in self.plan.take_off.penetrations
            if sealing.surface == surface
        ]

    def what(self, penetration: Penetration) -> str:
        """ "pipe Ø110, soil pipe"."""
        words = " ".join(filter(None, (self.texts(f"kind.{penetration.kind}"), size_in_words(penetration))))
        return f"{words}, {penetration.note}" if penetration.note else words

    def how_sealed(self, sealing: Sealing) -> str:
        """The way of sealing in words, with the collar and who brings it, or the tape pieces."""
        by_others = sealing.method == "collar" and self.job.collars == "by_others"
        one = ".one" if sealing.method in ("taped", "section_taped") and sealing.tape_pieces == 1 else ""
        words = self.texts(
            "seal.collar.by_others" if by_others else f"seal.{sealing.method}{one}",
            product=self.product(sealing.product) if sealing.product else "",
            pieces=sealing.tape_pieces,
            length=sealing.tape_piece_mm,
        )
        if sealing.method == "non_combustible" or not sealing.note:
            return words
        return f"{words}; {self.texts.sentence(sealing.note_said, self.formats, sealing.note)}"

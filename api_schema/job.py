"""A job: one piece of work for one customer at one site."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from typing import Annotated, Literal

from api_schema.agreement import COLLARS, INSULATIONS, Agreement, Collars, Insulation
from api_schema.building import Building
from api_schema.fields import choice, identifier, list_of, many, number, one, text, truth, whole
from api_schema.surface import MOST_CORNERS, Surface

Stapler = Literal["hand", "electric", "pneumatic"]
MOST_SURFACES = 2000
MOST_VERTICES = 10_000


@dataclass(frozen=True, slots=True)
class Customer:
    """Who the job is for."""

    name: Annotated[str, text("Name.", example="Example Homes", longest=120)] = ""
    address: Annotated[
        tuple[str, ...],
        list_of(text("A line.", example="1 Sample Street", longest=120), "Address, a line each.", most=8),
    ] = ()
    email: Annotated[str, text("Where the quote is sent.", example="office@example.com", longest=200)] = ""


@dataclass(frozen=True, slots=True)
class Target:
    """The airtightness asked for; one of the two."""

    n50_per_h: Annotated[
        Decimal | None,
        number("Air changes at 50 Pa.", example="0.6", unit="1/h", minimum="0.01", maximum="100", plain=True),
    ] = None
    q50_m3_h_m2: Annotated[
        Decimal | None,
        number(
            "Air permeability at 50 Pa by envelope area.",
            example="3.0",
            unit="m3/(h·m2)",
            minimum="0.01",
            maximum="100",
            plain=True,
        ),
    ] = None


@dataclass(frozen=True, slots=True)
class EdgeReference:
    """One edge of one surface."""

    surface: Annotated[str, identifier("The surface.", example="living-north")]
    edge: Annotated[int, whole("The edge, from corner i to corner i+1.", example=1, maximum=MOST_CORNERS)]


@dataclass(frozen=True, slots=True)
class Junction:
    """The line where two surfaces meet at an internal corner."""

    a: Annotated[EdgeReference, one(EdgeReference, "The one side.")]
    b: Annotated[EdgeReference, one(EdgeReference, "The other side.")]
    angle_deg: Annotated[
        Decimal | None,
        number(
            "Angle between the two measured through the room: 90 at a plain corner, over 180 where it juts into the room.",
            example="90",
            unit="deg",
            maximum="360",
            plain=True,
        ),
    ] = None


@dataclass(frozen=True, slots=True)
class Job:
    """What is asked to be planned and quoted."""

    reference: Annotated[str, text("Your own reference.", example="PX-014", shortest=1, longest=64)]
    surfaces: Annotated[
        tuple[Surface, ...], many(Surface, "The planes to be lined.", most=MOST_SURFACES)
    ] = ()
    junctions: Annotated[
        tuple[Junction, ...], many(Junction, "Where surfaces meet.", most=MOST_VERTICES)
    ] = ()
    building: Annotated[
        Building | None,
        one(
            Building,
            "Instead of or beside surfaces: the building they are derived from; a surface given beside it replaces the derived one of that id.",
        ),
    ] = None
    title: Annotated[str, text("What it is.", example="Plot 14, one-and-a-half storey house")] = ""
    customer: Annotated[Customer, one(Customer, "Who it is for.")] = field(default_factory=Customer)
    insulation: Annotated[
        Insulation,
        choice("Is the insulation there already, or blown in behind the layer later?", INSULATIONS),
    ] = "in_place"
    collars: Annotated[
        Collars,
        choice(
            "Who brings and fits the collars: we, or the trades whose pipes and cables they seal; by others they are neither bought nor counted in the hours.",
            COLLARS,
        ),
    ] = "by_us"
    stapler: Annotated[
        Stapler, choice("What the crew staples with.", ("hand", "electric", "pneumatic"), example="electric")
    ] = "electric"
    target: Annotated[Target | None, one(Target, "The airtightness asked for.")] = None
    volume_m3: Annotated[
        Decimal | None,
        number(
            "Heated volume, internal dimensions.",
            example="412.0",
            unit="m3",
            minimum="0.1",
            maximum="10000000",
            plain=True,
        ),
    ] = None
    plan: Annotated[bool, truth("Plan it as soon as it is stored.", example=True)] = True
    notes: Annotated[
        str, text("Anything the crew should know.", example="Key at the site office.", longest=2000)
    ] = ""
    tax: Annotated[
        str | None,
        identifier(
            "One tax rate of the price book for the whole job, by its code, such as a reduced one for a retrofit; each line's own where not named.",
            example="reduced",
        ),
    ] = None
    agreement: Annotated[
        Agreement | None,
        one(
            Agreement,
            "The accepted quote that insulation and collars were taken from, where the job was planned as agreed. Leave it in what you send back: the crew's papers name it while the job follows it.",
        ),
    ] = None


def followed(job: Job) -> Agreement | None:
    """The agreement a job names, as long as its settings are still those agreed on."""
    found = job.agreement
    if found is None or (found.insulation, found.collars) != (job.insulation, job.collars):
        return None
    return found

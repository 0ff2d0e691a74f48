"""Who owns the data: a contractor or a merchant, and what its paper shows."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Literal

from api_schema.fields import choice, list_of, share, text, whole

AccountKind = Literal["contractor", "merchant"]


@dataclass(frozen=True, slots=True)
class Profile:
    """What an account's documents show and how it writes numbers."""

    name: Annotated[str, text("The firm.", example="Example Airtight Ltd", shortest=1, longest=120)]
    kind: Annotated[AccountKind, choice("Contractor or merchant.", ("contractor", "merchant"))] = "contractor"
    address: Annotated[
        tuple[str, ...],
        list_of(text("A line.", example="3 Sample Yard", longest=120), "Address, a line each.", most=8),
    ] = ()
    email: Annotated[str, text("Shown on documents.", example="office@example.com")] = ""
    phone: Annotated[str, text("Shown on documents.", example="+00 000 000", longest=40)] = ""
    currency: Annotated[
        str,
        text(
            "ISO 4217.",
            example="EUR",
            pattern=r"\A[A-Z]{3}\Z",
            pattern_help="must be three capital letters, ISO 4217.",
        ),
    ] = "EUR"
    language: Annotated[
        str,
        text(
            "Language and country for numbers and dates.",
            example="en_GB",
            pattern=r"\A[a-z]{2}(_[A-Z]{2})?\Z",
            pattern_help="must look like en or en_GB.",
        ),
    ] = "en_GB"
    tax_name: Annotated[str, text("What tax is called.", example="VAT", longest=20)] = "VAT"
    tax_number: Annotated[str, text("Shown on documents.", example="00 000 000", longest=40)] = ""
    tax_rate: Annotated[
        Decimal | None, share("Tax on quotes; the price book's where not said.", example="0.20", maximum="1")
    ] = None
    terms: Annotated[str, text("Printed on quotes.", example="Payment within 30 days.", longest=2000)] = (
        "Payment within 30 days of completion."
    )
    quote_valid_days: Annotated[
        int, whole("A quote holds for this many days.", example=30, minimum=1, maximum=365, unit="d")
    ] = 30
    accent_colour: Annotated[
        str,
        text(
            "Colour of rules and headings on documents.",
            example="#1f5c57",
            pattern=r"\A#[0-9a-f]{6}\Z",
            pattern_help="must look like #1f5c57.",
        ),
    ] = "#1f5c57"

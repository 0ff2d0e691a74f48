"""What a quote should be like."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Annotated

from api_schema.fields import one, text, truth, whole
from api_schema.quote_alternatives import ALTERNATIVES, Alternative
from api_schema.quote_options import QuoteOptions


@dataclass(frozen=True, slots=True)
class QuoteWish:
    """What a quote should be like."""

    options: Annotated[QuoteOptions, one(QuoteOptions, "What differs from the plan.")] = field(
        default_factory=QuoteOptions
    )
    draft: Annotated[
        bool,
        truth("Make a draft to look at, and issue it later. Issued at once where not said.", example=False),
    ] = False
    valid_days: Annotated[
        int | None,
        whole(
            "It holds for this many days; the profile's where not said.",
            example=30,
            minimum=1,
            maximum=365,
            unit="d",
        ),
    ] = None
    terms: Annotated[
        str | None,
        text("Terms of this quote; the profile's where not said.", example="Half on delivery.", longest=2000),
    ] = None
    introduction: Annotated[
        str,
        text(
            "A line or two to the customer, above the price.",
            example="Thank you for your enquiry.",
            longest=1000,
        ),
    ] = ""
    alternatives: Annotated[tuple[Alternative, ...], ALTERNATIVES] = ()

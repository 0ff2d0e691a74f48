"""English: what a quote says of its options, what a PDF carries, and the trade pack."""

TEXTS: dict[str, str] = {
    "quote.collars_by_others": "Not included: collars for pipes, ducts and cables. The trades that pass through the layer bring them and slip them on.",
    "quote.fixing.in_place": "Reckoned with the insulation in place before the membrane is hung.",
    "quote.fixing.blown_in": "Reckoned with insulation blown in behind the membrane later: fixed at closer centres.",
    "ubl.quotation": "The same quote as OASIS UBL 2.1 Quotation",
    "ubl.order": "The same order as OASIS UBL 2.1 Order",
}

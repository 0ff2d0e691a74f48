"""Decimal places of currencies.

The table is that of the Unicode CLDR supplemental data as Babel carries it, so that amounts are rounded to the
places the documents print; a test holds the two together. It is pinned here because loading Babel's data takes
longer than pricing a job.
"""

from __future__ import annotations

from decimal import Decimal

_PLACES = {
    0: "ADP AFN ALL BIF BYR CLP DJF ESP GNF IQD IRR ISK ITL JPY KMF KPW KRW LAK LBP LUF MGA MGF MMK MRO PYG RSD RWF "
    "SLL SOS STD SYP TMM TRL UGX UYI VND VUV XAF XOF XPF YER ZMK ZWD",
    3: "BHD JOD KWD LYD OMR TND",
    4: "CLF UYW",
}
_USUAL_PLACES = 2
_PLACES_OF = {code: places for places, codes in _PLACES.items() for code in codes.split()}


def minor_unit(currency: str) -> Decimal:
    """The smallest amount of a currency (ISO 4217 code) that is written: 0.01 for most."""
    return Decimal(1).scaleb(-_PLACES_OF.get(currency, _USUAL_PLACES))

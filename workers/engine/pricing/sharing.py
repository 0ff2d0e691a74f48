"""An amount shared out in whole steps."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import ROUND_FLOOR, Decimal

_NOTHING = Decimal(0)


def shared(
    amount: Decimal, names: Sequence[str], weights: Mapping[str, Decimal], step: Decimal
) -> dict[str, Decimal]:
    """An amount shared out by weight in whole steps that add up to it; alike where nothing has a weight.

    Shares are rounded down and what is left goes, step by step, to those that lost most (largest remainder); the one
    named first goes first among equals.
    """
    if not names:
        return {}
    whole = sum((weights.get(name, _NOTHING) for name in names), _NOTHING)
    exact = {
        name: amount * weights.get(name, _NOTHING) / whole if whole else amount / len(names) for name in names
    }
    shares = {name: (value / step).to_integral_value(ROUND_FLOOR) * step for name, value in exact.items()}
    left = int((amount - sum(shares.values(), _NOTHING)) / step)
    order = sorted(range(len(names)), key=lambda place: (shares[names[place]] - exact[names[place]], place))
    for place in order[:left]:
        shares[names[place]] += step
    return shares

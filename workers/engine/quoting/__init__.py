"""From a plan to what is offered: its options and alternatives priced, and a price taken apart by surface and operation.

Nothing is laid or cut again here: the strips stay as planned. How lines are priced belongs to pricing; numbering,
states and dates of a quote belong to the service.
"""

from workers.engine.quoting.breakdown import break_down
from workers.engine.quoting.combinations import OfferedChoice, price_choices, with_differences
from workers.engine.quoting.reprice import Offered, price_with

__all__ = ["Offered", "OfferedChoice", "break_down", "price_choices", "price_with", "with_differences"]

"""From order lines and hours to a price: every line with its rate and the rule that made it.

Here belong mark-ups, overhead, contingency, discount, the minimum charge, tax and rounding. What is bought and how
long it takes is settled before; numbering, validity and terms of a quote belong to the service.
"""

from workers.engine.pricing.price import price

__all__ = ["price"]

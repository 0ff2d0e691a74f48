"""From quantities to packs: waste added, stock on hand taken first, the rest covered at the least money.

Here belongs what is bought and in which packs. How rolls are cut is decided before, in cutting; mark-up and tax
come after, in pricing.
"""

from workers.engine.packs.order import order, unbought

__all__ = ["order", "unbought"]

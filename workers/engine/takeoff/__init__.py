"""The measured quantities of a job, every one counted from its geometry and traced to its surfaces.

Here belong areas under a measurement rule, lengths of joints and edges, fixings, and how penetrations are sealed.
Waste, packs, hours and money do not: they come after, in packs, labour and pricing.
"""

from workers.engine.takeoff.measure import measure

__all__ = ["measure"]

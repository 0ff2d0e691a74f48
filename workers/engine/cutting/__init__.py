"""Which piece is cut from which roll: cutting.

Pieces, rolls and offcuts in, a cut list with a lower bound out. Here belong the methods that find the cheapest
plan and prove it; where strips lie, what the layer needs and what is ordered belong elsewhere.
"""

from workers.engine.cutting.cut_job import cut_job, pieces_of, stock_of
from workers.engine.cutting.plan_cuts import cut
from workers.engine.cutting.records import CannotBeCut, PieceToCut, Slants, Stock

__all__ = ["CannotBeCut", "PieceToCut", "Slants", "Stock", "cut", "cut_job", "pieces_of", "stock_of"]

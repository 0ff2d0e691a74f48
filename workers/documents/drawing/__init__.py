"""One surface as an SVG to scale: what a fitter needs at the wall, in the order the work is done.

Points come in as the surface's millimetres and leave as millimetres of paper. Nothing here decides where a strip
lies; it draws what the layout says. No text comes from anywhere but the catalogue and checked records.
"""

from workers.documents.drawing.surface import draw_surface

__all__ = ["draw_surface"]

"""Paper and drawings: records in, PDF or SVG bytes out.

Templates, the stylesheet, fonts, texts and drawings live here. Nothing is computed that the plan does not already
say, nothing is fetched, and nothing of the user's is taken as markup. The same input gives the same bytes.
"""

from workers.documents.drawing import draw_surface
from workers.documents.errors import DocumentError
from workers.documents.order import render_order
from workers.documents.quote import render_quote
from workers.documents.site_pack import render_site_pack

__all__ = ["DocumentError", "draw_surface", "render_order", "render_quote", "render_site_pack"]

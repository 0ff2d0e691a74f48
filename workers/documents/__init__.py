"""Paper and drawings: records in, bytes out - PDF, SVG, DXF, and quotes and orders as UBL.

Templates, the stylesheet, fonts, texts and drawings live here. Nothing is computed that the plan does not already
say, nothing is fetched, and nothing of the user's is taken as markup. The same input gives the same bytes.
"""

from workers.documents.cut_labels import render_cut_labels
from workers.documents.drawing import draw_surface
from workers.documents.drawing_sheet import render_drawing
from workers.documents.errors import DocumentError
from workers.documents.isometric import draw_isometric
from workers.documents.letterhead import Letterhead
from workers.documents.order import render_order
from workers.documents.pressure_plot import draw_pressure_plot, draw_residuals
from workers.documents.quote import render_quote
from workers.documents.site_pack import render_site_pack
from workers.documents.survey_report import render_survey_report
from workers.documents.test_report import render_test_report
from workers.documents.trade_pack import render_trade_pack
from workers.documents.walk_round import render_walk_round

__all__ = [
    "DocumentError",
    "Letterhead",
    "draw_isometric",
    "draw_pressure_plot",
    "draw_residuals",
    "draw_surface",
    "render_cut_labels",
    "render_drawing",
    "render_order",
    "render_quote",
    "render_site_pack",
    "render_survey_report",
    "render_test_report",
    "render_trade_pack",
    "render_walk_round",
]

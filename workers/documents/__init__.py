"""Paper and drawings: records in, PDF or SVG bytes out.

Templates, the stylesheet, fonts and drawings live here. Nothing is computed that the plan does not already say,
nothing is fetched, and nothing of the user's is taken as markup.
"""

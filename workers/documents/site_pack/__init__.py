"""The site pack: what the crew works from, in the order it works.

Cover, cautions and standard, a page a surface, cut list by roll, penetrations, fixings. A file a part; each gives
the rows its part of the template prints and computes nothing that the plan does not say.
"""

from workers.documents.site_pack.render import render_site_pack

__all__ = ["render_site_pack"]

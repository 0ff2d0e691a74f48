"""The fan test: what may leak and where before it, what the readings mean after it.

`analyse` turns readings into figures with intervals and a validity screen; `budget` shares a target out over the
details of a job; `learning` moves the budget's component values toward a firm's own tests; `walk_round` lists what
to look at before the fan is switched on. Numbers are floats here, since they are measured and never cut or paid
for. Drawing and printing belong to the documents.
"""

from workers.engine.pressure.analyse import analyse
from workers.engine.pressure.table import csv_of

__all__ = ["analyse", "csv_of"]

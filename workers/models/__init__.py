"""Reading a designer's model file into a proposed survey.

The file is not trusted: it is read in a process of its own with limits on memory and time, and what comes back is
checked like anything sent from outside. `read_model` is the way in; the reader behind it needs the optional extra
`lapwise[ifc]`. What a building described in JSON becomes belongs to the engine, not here.
"""

from workers.models.errors import ModelError
from workers.models.read_model import read_model

__all__ = ["ModelError", "read_model"]

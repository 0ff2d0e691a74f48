"""The DXF library, imported in such a way that it neither reads nor writes anything outside this program.

On import it lists the fonts of the machine in a file under the user's cache folder, which a container that may only be
read has no place for, and of which it then warns. Our files measure no text, so that a list without fonts will do: it
lies beside our own fonts, where the library is sent for as long as the import lasts.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

_CACHE = "XDG_CACHE_HOME"


@contextmanager
def _list_without_fonts() -> Iterator[None]:
    before = os.environ.get(_CACHE)
    os.environ[_CACHE] = str(Path(__file__).parent / "fonts")
    try:
        yield
    finally:
        if before is None:
            del os.environ[_CACHE]
        else:
            os.environ[_CACHE] = before


with _list_without_fonts():
    import ezdxf

__all__ = ["ezdxf"]

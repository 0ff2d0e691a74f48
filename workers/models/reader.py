"""The reader's own process: `python -m workers.models.reader MODEL ANSWER MEGABYTES SECONDS`.

It limits itself before it opens anything, reads MODEL, and writes ANSWER as JSON: {"reading": …} or
{"reason": …, "message": …}. Whatever else happens to it, only this process ends.
"""

from __future__ import annotations

import json
import resource
import sys
from pathlib import Path

_ANSWER_BYTES = 64 * 1024 * 1024


def main(model: str, answer: str, megabytes: int, seconds: int) -> None:
    """Reads one model under limits and writes the answer."""
    memory = megabytes * 1024 * 1024
    resource.setrlimit(resource.RLIMIT_AS, (memory, memory))
    resource.setrlimit(resource.RLIMIT_DATA, (memory, memory))  # the worker's own would come with it
    resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds + 1))
    resource.setrlimit(resource.RLIMIT_FSIZE, (_ANSWER_BYTES, _ANSWER_BYTES))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    Path(answer).write_text(json.dumps(_read(model)))


def _read(model: str) -> dict[str, object]:
    # Imported here, under the limits: the libraries are large and the file's content is not trusted.
    from api_schema.shape import dump  # noqa: PLC0415
    from workers.models.errors import ModelError  # noqa: PLC0415

    try:
        from workers.models.ifc_file import read_ifc  # noqa: PLC0415
        from workers.models.propose import propose  # noqa: PLC0415

        return {"reading": dump(propose(read_ifc(model)))}
    except ModelError as error:
        return {"reason": error.reason, "message": str(error)}
    except MemoryError:
        return {"reason": "too_much_memory", "message": ""}
    except ModuleNotFoundError as error:
        if (error.name or "").partition(".")[0] != "ifcopenshell":
            raise
        return {"reason": "no_reader", "message": ""}


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2], int(sys.argv[3]), int(sys.argv[4]))

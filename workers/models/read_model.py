"""Reads a model in a process of its own, so that no file can take the worker with it."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import get_args

from marshmallow import ValidationError

from api_schema.model_reading import ModelReading
from api_schema.shape import load
from workers.models.errors import ModelError, Reason

MOST_BYTES = 100 * 1024 * 1024
_LEAST_MEGABYTES = 400  # the reader's libraries alone reserve more than half of this address space
_SAID = "said.txt"
_HEAD = b"ISO-10303-21"  # ISO 10303-21, clause 5: every exchange file starts with it, and ends with _END
_END, _END_BYTES = b"END-ISO-10303-21;", 1024
_ROOT = Path(__file__).resolve().parents[2]
_WORDS: dict[Reason, str] = {
    "too_slow": "The model was not read within {seconds} s; export one storey, or without furniture and services, and send that.",
    "too_much_memory": "The model needs more than {megabytes} MB to be read; export one storey, or without furniture and services.",
    "unreadable": "The reader stopped: the file is damaged, or needs more than {megabytes} MB. Export it again as IFC4 or IFC2x3, one storey or without furniture and services.",
    "no_reader": "This server cannot read models: the optional part lapwise[ifc] is not installed.",
}


def read_model(
    path_or_bytes: str | os.PathLike[str] | bytes,
    *,
    seconds: int = 60,
    megabytes: int = 1500,
    most_bytes: int = MOST_BYTES,
) -> ModelReading:
    """The survey an IFC2x3 or IFC4 file proposes, with what could not be placed.

    `seconds` limits the reader's time by the clock and by the processor, `megabytes` its address space.

    Raises:
        ModelError: where the file is too large, not a model, or cannot be read within the limits.
    """
    with tempfile.TemporaryDirectory(prefix="lapwise-model-") as folder:
        model = Path(folder) / "model.ifc"
        if isinstance(path_or_bytes, bytes):
            _check(len(path_or_bytes), path_or_bytes[:64], path_or_bytes[-_END_BYTES:], most_bytes)
            model.write_bytes(path_or_bytes)
        else:
            model = Path(path_or_bytes).resolve()
            size = model.stat().st_size
            with model.open("rb") as opened:
                head = opened.read(64)
                opened.seek(max(0, size - _END_BYTES))
                _check(size, head, opened.read(_END_BYTES), most_bytes)
        answer = Path(folder) / "answer.json"
        status = _run(model, answer, seconds, max(megabytes, _LEAST_MEGABYTES))
        return _reading(answer, status, seconds, max(megabytes, _LEAST_MEGABYTES))


def _check(size: int, head: bytes, end: bytes, most_bytes: int) -> None:
    if size > most_bytes:
        raise ModelError(
            "too_large",
            f"The file has {size / 1e6:.1f} MB; we read up to {most_bytes / 1e6:.0f} MB. Export one storey, or without furniture and services.",
        )
    if not head.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(_HEAD):
        raise ModelError(
            "unreadable",
            f"The file does not start like an IFC file ({_HEAD.decode()}). Send the .ifc file itself, not zipped and not as XML.",
        )
    if _END not in end:
        raise ModelError(
            "unreadable", f"The file is cut short: it does not end with {_END.decode()}. Send it again."
        )


def _run(model: Path, answer: Path, seconds: int, megabytes: int) -> int | None:
    """The reader's exit status; None where it had to be ended."""
    command = [
        sys.executable,
        "-m",
        "workers.models.reader",
        str(model),
        str(answer),
        str(megabytes),
        str(seconds),
    ]
    environment = {
        "PATH": os.defpath,
        "PYTHONPATH": str(_ROOT),
        "HOME": str(answer.parent),
        "OPENBLAS_NUM_THREADS": "1",  # each thread would reserve memory under the limit
        "PYTHONDONTWRITEBYTECODE": "1",
    }
    with (answer.parent / _SAID).open("wb") as said:
        process = subprocess.Popen(  # noqa: S603 - our own interpreter and module
            command, cwd=answer.parent, env=environment, stdin=subprocess.DEVNULL, stdout=said, stderr=said,
            start_new_session=True, close_fds=True,
        )  # fmt: skip
    try:
        return process.wait(timeout=seconds)
    except subprocess.TimeoutExpired:
        return None
    finally:
        if process.poll() is None:
            os.killpg(process.pid, signal.SIGKILL)
            process.wait()


def _reading(answer: Path, status: int | None, seconds: int, megabytes: int) -> ModelReading:
    words = {"seconds": seconds, "megabytes": megabytes}
    reason: Reason = "unreadable"
    if status is None or status in (-signal.SIGXCPU, -signal.SIGKILL):
        reason = "too_slow"
    elif status == 0 and answer.exists():
        said = json.loads(answer.read_text())
        if said.get("reason") in get_args(Reason):
            reason = said["reason"]
            raise ModelError(reason, said["message"] or _WORDS[reason].format(**words))
        try:
            return load(ModelReading, said["reading"])
        except ValidationError as error:
            raise ModelError(reason, _WORDS[reason].format(**words), str(error.messages)[:2000]) from error
    said_last = (answer.parent / _SAID).read_bytes()[-2000:].decode(errors="replace")
    if "MemoryError" in said_last or "bad_alloc" in said_last:
        reason = "too_much_memory"
    raise ModelError(reason, _WORDS[reason].format(**words), said_last)

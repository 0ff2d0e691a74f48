"""Identical input gives identical bytes, in this process and in others, wherever the clock and hashes stand."""

import hashlib
import os
import subprocess
import sys
from datetime import timedelta
from pathlib import Path

from api_schema.standard import Standard
from tests.documents import example_plan as example
from workers.documents import draw_surface, render_order, render_quote, render_site_pack
from workers.documents.dxf import draw_surface_dxf

_PROGRAM = """
import os, sys
from tests.documents.test_same_bytes import digests
watched = ("socket.connect", "socket.getaddrinfo", "urllib.Request", "subprocess.Popen", "os.system")
met = []
sys.addaudithook(lambda event, args: met.append(event) if event in watched else None)
print(" ".join(digests()))
assert not met, met
assert not [name for name in sys.modules if name.startswith("workers.engine")]
sys.stdout.flush()
os._exit(0)  # an audit hook cannot be taken off again, and must not outlive what it appends to
"""


def documents() -> list[bytes]:
    return [
        render_quote(example.QUOTE, example.PROFILE, made_at=example.MADE_AT),
        render_order(example.ORDER, example.PROFILE, made_at=example.MADE_AT),
        render_site_pack(example.JOB, example.PLAN, Standard(), example.PROFILE, made_at=example.MADE_AT),
        draw_surface(example.WALL, example.WALL_LAYOUT, example.SEALINGS, Standard(), 100),
        draw_surface_dxf(example.WALL, example.WALL_LAYOUT),
    ]


def digests() -> list[str]:
    return [hashlib.sha256(document).hexdigest() for document in documents()]


def test_two_processes_with_other_hashes_and_clocks_make_the_same_bytes_without_engine_or_network() -> None:
    here = Path(__file__).parents[2]
    made = set()
    for seed, zone in (("1", "UTC"), ("7", "Pacific/Auckland")):
        environment = {**os.environ, "PYTHONHASHSEED": seed, "TZ": zone, "PYTHONPATH": str(here)}
        run = subprocess.run(
            [sys.executable, "-c", _PROGRAM],
            env=environment,
            cwd=here,
            capture_output=True,
            text=True,
            check=False,
        )
        assert run.returncode == 0, run.stderr
        made.add(run.stdout.strip())
    assert made == {" ".join(digests())}


def test_another_time_of_making_changes_the_document() -> None:
    later = example.MADE_AT + timedelta(days=1)
    assert render_quote(example.QUOTE, example.PROFILE, made_at=later) != documents()[0]


def test_rendering_leaves_the_process_s_own_clock_setting_alone() -> None:
    before = os.environ.get("SOURCE_DATE_EPOCH")
    documents()
    assert os.environ.get("SOURCE_DATE_EPOCH") == before

"""Jobs a minute and core, with PDFs and without, in one process and in two, printed side by side; asserts no times."""

from __future__ import annotations

import datetime
import json
import multiprocessing
import os
import time
from pathlib import Path
from typing import Any

import pytest

from api_schema.account import Profile
from api_schema.defaults import default_outputs, default_price_book, default_standard
from api_schema.job import Job
from api_schema.shape import dump, load
from service.api.examples import JOB
from workers.documents import render_site_pack
from workers.drawings import drawings_of
from workers.engine.plan import plan_job

_EACH_S = 6.0
_HOUSE = Path(__file__).parents[2] / "deploy" / "demo" / "house.json"


def _work(body: dict[str, Any], with_papers: bool, done: Any) -> None:
    """Plans and draws for `_EACH_S` seconds of processor time, as a worker does; puts jobs and processor seconds."""
    made_at = datetime.datetime(2026, 11, 25, tzinfo=datetime.UTC)
    standard, outputs, book = default_standard(), default_outputs(), default_price_book()
    profile = Profile(name="Example Airtight Ltd")
    job = load(Job, body)
    if with_papers:  # fonts are read once
        render_site_pack(job, plan_job(job, standard, outputs, book), standard, profile, made_at=made_at)
    count, began, cpu = 0, time.perf_counter(), time.process_time()
    while time.perf_counter() - began < _EACH_S or count == 0:
        planned = plan_job(job, standard, outputs, book)
        drawings_of(job, planned, standard)
        dump(planned)
        if with_papers:
            render_site_pack(job, planned, standard, profile, made_at=made_at)
        count += 1
    done.put((count, time.perf_counter() - began, time.process_time() - cpu))


@pytest.mark.benchmark
def test_jobs_a_minute_with_papers_and_without_in_one_process_and_two() -> None:
    house = json.loads(_HOUSE.read_text(encoding="utf-8"))
    print(
        f"\n{'job':<10}{'papers':<8}{'processes':>9}{'jobs/min':>10}{'cpu s a job':>13}{'a core':>9}{'against one':>13}"
    )
    for name, body in (("two walls", JOB), ("house", house)):
        for with_papers in (False, True):
            one = 0.0
            for processes in (1, 2):
                started = multiprocessing.get_context("spawn")
                done = started.Queue()
                workers = [
                    started.Process(target=_work, args=(body, with_papers, done)) for _ in range(processes)
                ]
                for worker in workers:
                    worker.start()
                made = [done.get() for _ in workers]
                for worker in workers:
                    worker.join()
                a_minute = sum(60 * count / took_s for count, took_s, _ in made)
                cpu_s = sum(cpu for _, _, cpu in made) / sum(count for count, _, _ in made)
                one = one or a_minute
                print(
                    f"{name:<10}{'site' if with_papers else 'none':<8}{processes:>9}{a_minute:>10.1f}{cpu_s:>13.3f}"
                    f"{60 / cpu_s:>9.1f}"
                    f"{a_minute / one:>12.2f}x"
                )
    print(f"processors: {os.cpu_count()}")

"""What the documents of the demo house cost, printed; the plain way beside ours. Run with `-m benchmark -s`.

Processor time is the least of a few runs. The wall time of two processes side by side stands beside that of one, both
taken in the same minute, since a wall time says something only beside another.
"""

import datetime
import io
import json
import multiprocessing
import os
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pydyf
import pytest
from pypdf import PdfReader

from api_schema.account import Profile
from api_schema.defaults import default_outputs, default_price_book, default_standard
from api_schema.job import Job
from api_schema.order import Order
from api_schema.plan import Plan
from api_schema.quote import Quote
from api_schema.shape import load
from workers.documents import Letterhead, ink, render_order, render_quote, render_site_pack, renderer
from workers.documents.dxf import draw_surface_dxf
from workers.drawings import drawings_of, zip_of_drawings
from workers.engine.envelope import prepare
from workers.engine.plan import plan_job

pytestmark = pytest.mark.benchmark
MADE_AT = datetime.datetime(2026, 11, 25, 9, 30, tzinfo=datetime.UTC)
PROFILE = Profile(name="Example Airtight Ltd", address=("3 Sample Yard", "Exampletown"))
STANDARD = default_standard()


@dataclass(frozen=True, slots=True)
class House:
    """What the documents are made of; the drawings are stored with a plan."""

    job: Job
    plan: Plan
    drawn: dict[str, bytes]
    quote: Quote
    orders: tuple[Order, ...]


@cache
def house() -> House:
    file = Path(__file__).parents[2] / "deploy" / "demo" / "house.json"
    job = prepare(load(Job, json.loads(file.read_text(encoding="utf-8"))))
    book = default_price_book()
    plan = plan_job(job, STANDARD, default_outputs(), book)
    day = MADE_AT.date()
    orders = []
    for supplier in book.suppliers:
        lines = tuple(line for line in plan.order_lines if line.supplier == supplier.code)
        net = sum((line.price for line in lines), start=plan.price.net * 0)
        orders.append(Order(f"O-{supplier.code}", "draft", day, supplier, job.reference, "EUR", lines, net))
    quote = Quote("2026-0001", 1, "issued", day, day, job.reference, job.title, job.customer, plan.price)
    return House(job, plan, drawings_of(job, plan, STANDARD), quote, tuple(orders))


def site_pack(*, drawn: bool = True) -> bytes:
    it = house()
    drawings = it.drawn if drawn else None
    return render_site_pack(it.job, it.plan, STANDARD, PROFILE, made_at=MADE_AT, drawings=drawings)


def quote() -> bytes:
    return render_quote(house().quote, PROFILE, made_at=MADE_AT)


def orders() -> list[bytes]:
    return [render_order(order, PROFILE, made_at=MADE_AT) for order in house().orders]


def drawing_files() -> bytes:
    it = house()
    return zip_of_drawings(
        it.job, it.plan, it.drawn, PROFILE, revision=1, made_at=MADE_AT, letterhead=Letterhead()
    )


def dxfs() -> list[bytes]:
    it = house()
    surfaces = {surface.id: surface for surface in it.job.surfaces}
    return [draw_surface_dxf(surfaces[layout.id], layout) for layout in it.plan.layout.surfaces]


def cpu(work: Callable[[], object], times: int = 3) -> float:
    """Least processor seconds of a few runs, after one that warms up."""
    work()
    spent = []
    for _ in range(times):
        start = time.process_time()
        work()
        spent.append(time.process_time() - start)
    return min(spent)


def _made(work: Callable[[], object]) -> None:
    work()


def wall(processes: int, parts: Sequence[Callable[[], object]]) -> float:
    """Least wall seconds of a few runs of all parts on so many processes, each of which has made all of them before."""
    with ProcessPoolExecutor(processes, mp_context=multiprocessing.get_context("fork")) as pool:
        list(pool.map(_made, [*parts] * processes))
        spent = []
        for _ in range(3):
            start = time.perf_counter()
            list(pool.map(_made, parts))
            spent.append(time.perf_counter() - start)
    return min(spent)


def test_the_documents_of_the_demo_house(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    it = house()
    set_ = {"site pack": site_pack, "quote": quote, f"{len(it.orders)} orders": orders}
    figures = {name: cpu(work) for name, work in set_.items()}
    beside = {
        f"{len(it.drawn)} drawings as SVG": cpu(lambda: drawings_of(it.job, it.plan, STANDARD)),
        f"{len(it.drawn)} drawings as DXF": cpu(dxfs),
        "all drawings in one file": cpu(drawing_files, 1),
    }

    def plainly() -> bytes:
        """The plain way: stylesheet and fonts read and parsed for each document, and what WeasyPrint does by itself."""
        renderer._style.cache_clear()
        with monkeypatch.context() as patch:
            _as_weasyprint_does(patch)
            return quote()

    def by_weasyprint() -> bytes:
        """The plain way: surfaces drawn anew, drawings as SVG laid out letter by letter, the rest by WeasyPrint itself."""
        with monkeypatch.context() as patch:
            patch.setattr(ink.Inks, "of", lambda *_: {})
            _as_weasyprint_does(patch)
            return site_pack(drawn=False)

    plain, plain_pack = cpu(plainly), cpu(by_weasyprint, 2)
    one, two = wall(1, tuple(set_.values())), wall(2, tuple(set_.values()))
    with capsys.disabled():
        pages = len(PdfReader(io.BytesIO(site_pack())).pages)
        load = " ".join(f"{one:.1f}" for one in os.getloadavg())
        print(
            f"\non {datetime.datetime.now(tz=datetime.UTC):%d %B %Y}, load {load}; the site pack has {pages} pages"
        )
        for name, seconds in (figures | {"the whole set": sum(figures.values())} | beside).items():
            print(f"{name:26} {seconds * 1000:8.0f} ms of one core")
        for name, plain_s, ours in (
            ("site pack, the plain way", plain_pack, figures["site pack"]),
            ("quote, the plain way", plain, figures["quote"]),
        ):
            print(f"{name:26} {plain_s * 1000:8.0f} ms of one core, {plain_s / ours:.1f} times ours")
        print(
            f"{'the set on two processes':26} {two * 1000:8.0f} ms of wall, on one {one * 1000:.0f}: {two / one:.2f} of it"
        )


def _as_weasyprint_does(patch: pytest.MonkeyPatch) -> None:
    """The page read as HTML, WeasyPrint's own list of elements, its own file and its own packing."""
    patch.setattr(renderer, "fromstring", _no_xml)
    patch.delattr(renderer._Page, "_ua_stylesheets")
    patch.setattr(renderer, "Pdf", pydyf.PDF)
    patch.setattr(renderer, "finish", None)


def _no_xml(_: str) -> None:
    raise renderer.ParseError

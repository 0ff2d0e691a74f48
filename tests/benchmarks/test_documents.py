"""What the documents of the demo house cost, printed; the plain way beside ours. Run with `-m benchmark -s`."""

import datetime
import json
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from api_schema.account import Profile
from api_schema.defaults import default_outputs, default_price_book, default_standard
from api_schema.job import Job
from api_schema.order import Order
from api_schema.quote import Quote
from api_schema.shape import load
from workers.documents import draw_surface, ink, render_order, render_quote, render_site_pack, renderer
from workers.engine.plan import plan_job

pytestmark = pytest.mark.benchmark
MADE_AT = datetime.datetime(2026, 11, 25, 9, 30, tzinfo=datetime.UTC)
PROFILE = Profile(name="Example Airtight Ltd", address=("3 Sample Yard", "Exampletown"))


def cpu(work: Callable[[], object], times: int = 2) -> float:
    """Least processor seconds of a few runs, after one that warms up."""
    work()
    spent = []
    for _ in range(times):
        start = time.process_time()
        work()
        spent.append(time.process_time() - start)
    return min(spent)


def test_the_documents_of_the_demo_house(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    house = Path(__file__).parents[2] / "deploy" / "demo" / "house.json"
    job = load(Job, json.loads(house.read_text(encoding="utf-8")))
    book, standard = default_price_book(), default_standard()
    plan = plan_job(job, standard, default_outputs(), book)
    day = MADE_AT.date()
    quote = Quote("2026-0001", 1, "issued", day, day, job.reference, job.title, job.customer, plan.price)
    orders = []
    for supplier in book.suppliers:
        lines = tuple(line for line in plan.order_lines if line.supplier == supplier.code)
        net = sum((line.price for line in lines), start=plan.price.net * 0)
        orders.append(Order(f"O-{supplier.code}", "draft", day, supplier, job.reference, "EUR", lines, net))
    sealings = plan.take_off.penetrations
    by_id = {surface.id: surface for surface in job.surfaces}

    figures = {
        f"{len(by_id)} drawings as SVG": cpu(
            lambda: [
                draw_surface(by_id[layout.id], layout, sealings, standard, 100)
                for layout in plan.layout.surfaces
            ]
        ),
        "site pack": cpu(lambda: render_site_pack(job, plan, standard, PROFILE, made_at=MADE_AT)),
        "quote": cpu(lambda: render_quote(quote, PROFILE, made_at=MADE_AT)),
        f"{len(orders)} orders": cpu(
            lambda: [render_order(order, PROFILE, made_at=MADE_AT) for order in orders]
        ),
    }
    whole = figures["site pack"] + figures["quote"] + figures[f"{len(orders)} orders"]

    def plainly() -> bytes:
        """The plain way: stylesheet and fonts read and parsed for each document."""
        renderer._style.cache_clear()
        return render_quote(quote, PROFILE, made_at=MADE_AT)

    def by_weasyprint() -> bytes:
        """The plain way: drawings as SVG, laid out letter by letter."""
        with monkeypatch.context() as patch:
            patch.setattr(ink.Inks, "of", lambda *_: {})
            return render_site_pack(job, plan, standard, PROFILE, made_at=MADE_AT)

    plain, plain_pack = cpu(plainly), cpu(by_weasyprint)
    with capsys.disabled():
        print()
        for name, seconds in figures.items():
            print(f"{name:24} {seconds * 1000:8.0f} ms of one core")
        print(f"{'the whole set':24} {whole * 1000:8.0f} ms of one core")
        print(
            f"{'site pack, the plain way':24} {plain_pack * 1000:8.0f} ms of one core, {plain_pack / figures['site pack']:.1f} times ours"
        )
        print(
            f"{'quote, the plain way':24} {plain * 1000:8.0f} ms of one core, {plain / figures['quote']:.1f} times ours"
        )

"""The order as the supplier gets it: packs, sizes, prices, where to and when."""

from __future__ import annotations

import datetime

from api_schema.account import Profile
from api_schema.order import Order
from workers.documents.formats import Formats
from workers.documents.letterhead import PLAIN, Letterhead
from workers.documents.pages import in_tables, page
from workers.documents.quote import tax_words
from workers.documents.renderer import Attached, to_pdf
from workers.documents.texts import Texts
from workers.documents.ubl import order_xml


def render_order(
    order: Order, profile: Profile, *, made_at: datetime.datetime, letterhead: Letterhead = PLAIN
) -> bytes:
    """The order as PDF, A4; the same input gives the same bytes. Raises `DocumentError`.

    It carries itself as UBL Order. Lines that stock covers wholly (no packs) are not printed: there is nothing to buy.
    """
    texts, formats = Texts(profile.language), Formats(profile.language)
    lines = [
        {
            "code": line.product,
            "name": line.name,
            "packs": formats.number(line.packs),
            "pack": f"{formats.number(line.pack_size)} {texts.unit(line.unit, line.pack_size)}",
            "pack_price": formats.money(line.pack_price, order.currency),
            "price": formats.money(line.price, order.currency),
        }
        for line in order.lines
        if line.packs
    ]
    particulars = [
        (texts("order.number"), order.number),
        (texts("order.made_on"), formats.date(order.made_on)),
        (texts("order.job"), order.reference),
    ]
    if order.deliver_on:
        particulars.append((texts("order.deliver_on"), formats.date(order.deliver_on)))
    html = page(
        "order.html",
        title=texts("order.title", number=order.number),
        reference=f"{order.reference} · {order.number}",
        profile=profile,
        made_at=made_at,
        letterhead=letterhead,
        order=order,
        state=texts("order.state.draft") if order.state == "draft" else "",
        supplier_lines=[line for line in (*order.supplier.address, order.supplier.email) if line],
        particulars=particulars,
        lines=list(in_tables(lines)),
        net=formats.money(order.net, order.currency),
        taxes=[
            (
                tax_words(tax, order.tax, profile, order.currency, texts, formats),
                formats.money(tax.amount, order.currency),
            )
            for tax in order.tax
        ],
        total="" if order.total is None else formats.money(order.total, order.currency),
        notes=order.notes.splitlines(),
    )
    name = f"order-{order.number}.xml"
    return to_pdf(
        html, letterhead.assets, made_at, [Attached(name, order_xml(order, profile), texts("ubl.order"))]
    )

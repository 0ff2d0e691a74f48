"""`lapwise demo --merchant`: a merchant measures, quotes and orders for three trade customers at their price levels."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from typing import Any

import click

from service.demo import Client, DemoFailed, papers_of, run, say, the_house
from service.serve import Serving

_LEVELS = {
    "levels": [
        {"code": "regular", "name": "Regular customers", "change": "-0.05"},
        {"code": "large", "name": "Large customers", "change": "-0.12"},
    ],
}
_CUSTOMERS = (  # invented; the rooms each of them lines
    ("Example Airtight Ltd", "large", None),
    ("Example Lining Ltd", "regular", ("living", "kitchen", "utility")),
    ("Example Dry Lining", None, ("bedroom-1", "bedroom-2", "bath")),
)


def run_merchant(out: Path) -> None:
    """Starts a service, does the three customers' jobs, saves their papers under `out`, and prints a table.

    Raises:
        DemoFailed: with the reason in words.
    """
    run(out, _walk)


def _walk(serving: Serving, out: Path) -> None:
    merchant = Client(serving, name="Example Supplies", kind="merchant")
    merchant.change("PATCH", "/v1/price-book", {"rules": {"material_markup": "0.12"}})
    accounts = [merchant.post("/v1/account/customers", {"name": name})["id"] for name, _, _ in _CUSTOMERS]
    buyers = [
        {"account": account, "level": level}
        for account, (_, level, _) in zip(accounts, _CUSTOMERS, strict=True)
        if level
    ]
    merchant.change("PUT", "/v1/price-levels", {**_LEVELS, "customers": buyers})
    say(
        f"A merchant with {len(accounts)} trade customers, {len(buyers)} of them at a price level of their own"
    )
    done = [
        _do(merchant.acting_for(account), serving, out / name.lower().replace(" ", "-"), name, level, rooms)
        for account, (name, level, rooms) in zip(accounts, _CUSTOMERS, strict=True)
    ]
    _nobody_sees_another(merchant, accounts, done)
    head = ("Trade customer", "level", "surfaces", "area net m²", "quote", "net", "orders", "tape, pack")
    rows = [head, *(one["row"] for one in done)]
    widths = [max(len(row[column]) for row in rows) for column in range(len(head))]
    click.echo(
        "\n".join(
            "  ".join(f"{cell:<{width}}" for cell, width in zip(row, widths, strict=True)) for row in rows
        )
    )
    click.echo(f"\nTheir quotes, orders, site packs and trade packs are in {out.absolute()}.")


def _do(
    client: Client, serving: Serving, out: Path, name: str, level: str | None, rooms: tuple[str, ...] | None
) -> dict[str, Any]:
    house = _part_of(the_house(), rooms)
    job = client.post(
        "/v1/jobs", {**house, "reference": f"{house['reference']}-{len(house['surfaces'])}"}, prefer="wait=30"
    )
    plan = client.get(f"/v1/jobs/{job['id']}/plan", prefer="wait=30")
    if plan["status"] != "ready":
        raise DemoFailed(f"The plan for {name} is {plan['status']}: {plan.get('problem')}")
    quote = client.post(f"/v1/jobs/{job['id']}/quotes")
    orders = client.post(f"/v1/jobs/{job['id']}/orders")["items"]
    client.post(f"/v1/jobs/{job['id']}/trade-pack")
    papers = papers_of(client, serving, job["id"], expected=4 + 2 * len(orders))
    out.mkdir(parents=True, exist_ok=True)
    for paper in papers:
        (out / paper["filename"]).write_bytes(client.fetch(f"/v1/documents/{paper['id']}"))
    say(f"{name}: quote {quote['number']}, {len(orders)} orders, {len(papers)} documents")
    tape = next(line for line in plan["order_lines"] if line["kind"] == "lap_tape")
    total = sum((Decimal(order["net"]) for order in orders), Decimal(0))
    row = (
        name, level or "none", str(len(house["surfaces"])), plan["take_off"]["totals"]["net_m2"], quote["number"],
        quote["price"]["net"], str(total), f"{tape['pack_price']} {quote['price']['currency']}",
    )  # fmt: skip
    return {
        "row": row,
        "paths": [f"/v1/jobs/{job['id']}", f"/v1/quotes/{quote['id']}", f"/v1/orders/{orders[0]['id']}"],
    }


def _part_of(house: dict[str, Any], rooms: tuple[str, ...] | None) -> dict[str, Any]:
    """The house, or those of its surfaces that belong to the rooms."""
    if rooms is None:
        return house
    kept = [surface for surface in house["surfaces"] if surface.get("room") in rooms]
    names = {surface["id"] for surface in kept}
    junctions = [
        one for one in house["junctions"] if one["a"]["surface"] in names and one["b"]["surface"] in names
    ]
    return {**house, "surfaces": kept, "junctions": junctions}


def _nobody_sees_another(merchant: Client, accounts: list[str], done: list[dict[str, Any]]) -> None:
    """Asks for everything of each customer as every other one; each must be there for its owner alone."""
    asked = 0
    for account in accounts:
        client = merchant.acting_for(account)
        for owner, one in zip(accounts, done, strict=True):
            for path in one["paths"]:
                asked += 1
                if client.is_there(path) != (owner == account):
                    raise DemoFailed(f"{path} of {owner} is shown to {account}.")
    say(
        f"Asked {asked} times for jobs, quotes and orders across the customers: each is seen by its owner alone"
    )

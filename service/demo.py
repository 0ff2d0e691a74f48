"""`lapwise demo`: the demonstration house, planned, quoted and ordered over HTTP by a service of its own."""

from __future__ import annotations

import copy
import io
import json
import signal
import sys
import tempfile
import time
import urllib.error
import urllib.request
import uuid
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from api_schema.account import AccountKind
from service import logs
from service.records import accounts
from service.records.store import Store
from service.serve import CannotServe, Serving
from service.settings import SettingsError, from_environment

_HOUSE = Path(__file__).parent.parent / "deploy" / "demo" / "house.json"
_BUILDING = Path(__file__).parent.parent / "deploy" / "demo" / "building.json"
_PAPER_WITHIN_S = 120.0


class DemoFailed(RuntimeError):  # noqa: N818 - reads as what it says
    """Why the demonstration came to no end, in one sentence."""


def run(out: Path, walk: Callable[[Serving, Path], None] | None = None) -> None:
    """Starts a service, plans the house, saves everything under `out`, prints a table, and ends the service.

    `walk` does something else with the service in place of that.

    Raises:
        DemoFailed: with the reason in words.
    """
    if not _HOUSE.exists():
        raise DemoFailed(f"The demonstration house is not at {_HOUSE}; run this from a clone of the project.")
    out.mkdir(parents=True, exist_ok=True)
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))
    with tempfile.TemporaryDirectory(prefix="lapwise-demo-") as data, (out / "log.jsonl").open("wb") as log:
        logs.configure(stream=io.TextIOWrapper(log, write_through=True))
        serving = Serving(Path(data), output=log)
        try:
            say("Starting the service")
            serving.start(from_environment())
            say(f"It answers at {serving.url}")
            (walk or _walk)(serving, out)
        except (CannotServe, SettingsError) as error:
            raise DemoFailed(f"{error} (log lines: {out / 'log.jsonl'})") from None
        finally:
            serving.stop()


def _walk(serving: Serving, out: Path) -> None:
    client = Client(serving)
    house = the_house()
    say(f"Sending {house['title']}: {len(house['surfaces'])} surfaces")
    began = time.perf_counter()
    job = client.post("/v1/jobs", house, prefer="wait=30")
    plan = client.get(f"/v1/jobs/{job['id']}/plan", prefer="wait=30")
    took_s = time.perf_counter() - began
    if plan["status"] != "ready":
        raise DemoFailed(f"The plan is {plan['status']}: {json.dumps(plan.get('problem'))}")
    say(f"Planned in {took_s:.2f} s, from sending the job to having its plan")
    quote = client.post(f"/v1/jobs/{job['id']}/quotes")
    orders = client.post(f"/v1/jobs/{job['id']}/orders")["items"]
    say(f"Quote {quote['number']} issued, {len(orders)} orders made; rendering")
    papers = papers_of(
        client, serving, job["id"], expected=3 + 2 * len(orders)
    )  # each quote and order as PDF and as UBL
    took_s = time.perf_counter() - began
    for paper in papers:
        (out / paper["filename"]).write_bytes(client.fetch(f"/v1/documents/{paper['id']}"))
    drawings = out / "drawings"
    drawings.mkdir(exist_ok=True)
    for surface in house["surfaces"]:
        svg = client.fetch(f"/v1/jobs/{job['id']}/drawings/{surface['id']}.svg")
        (drawings / f"{surface['id']}.svg").write_bytes(svg)
    (out / "plan.json").write_text(json.dumps(plan, indent=1, ensure_ascii=False), encoding="utf-8")
    say(f"Everything is there after {took_s:.2f} s")
    click.echo(_table(house, plan, quote, orders))
    click.echo(f"\nSaved in {out.absolute()}:")
    for paper in papers:
        click.echo(f"  {paper['filename']}  ({paper['kind']}, {paper['size'] // 1024} KiB)")
    click.echo(f"  plan.json\n  drawings/  ({len(house['surfaces'])} surfaces as SVG)")
    _from_a_footprint(client, out)


def _from_a_footprint(client: Client, out: Path) -> None:
    """The second house is described by its footprint, heights and roof alone."""
    building = json.loads(_BUILDING.read_text(encoding="utf-8"))
    job = client.post("/v1/jobs", building, prefer="wait=30")
    plan = client.get(f"/v1/jobs/{job['id']}/plan", prefer="wait=30")
    if plan["status"] != "ready":
        raise DemoFailed(f"The plan of the building is {plan['status']}: {json.dumps(plan.get('problem'))}")
    (out / "isometric.svg").write_bytes(client.fetch(f"/v1/jobs/{job['id']}/isometric.svg"))
    click.echo(
        f"  isometric.svg  ({building['title']}: {len(plan['layout']['surfaces'])} surfaces found, "
        f"{plan['price']['net']} {plan['price']['currency']} net)"
    )


def the_house() -> dict[str, Any]:
    """The demonstration house."""
    found: dict[str, Any] = json.loads(_HOUSE.read_text(encoding="utf-8"))
    return found


def papers_of(client: Client, serving: Serving, job_id: str, *, expected: int) -> list[dict[str, Any]]:
    """The documents of a job, once there are as many as expected. Raises DemoFailed where they do not come."""
    give_up = time.monotonic() + _PAPER_WITHIN_S
    while True:
        papers: list[dict[str, Any]] = client.get(f"/v1/jobs/{job_id}/documents")["items"]
        if len(papers) >= expected:
            return papers
        if time.monotonic() > give_up:
            raise DemoFailed(f"Only {len(papers)} of {expected} documents were rendered; see log.jsonl.")
        serving.look_after()
        time.sleep(0.05)


def _table(house: dict[str, Any], plan: dict[str, Any], quote: dict[str, Any], orders: list[Any]) -> str:
    surfaces = plan["layout"]["surfaces"]
    strips = [strip for surface in surfaces for strip in surface["strips"]]
    pieces = sum(len(strip["pieces"]) for strip in strips)
    proven = sum(bool(surface["proven"]) for surface in surfaces)
    cut, totals, labour = plan["cut_list"], plan["take_off"]["totals"], plan["labour"]
    penetrations = sum(
        hole.get("count", 1) for one in house["surfaces"] for hole in one.get("penetrations", [])
    )
    price = quote["price"]
    warnings = sum(check["level"] == "warning" for check in plan["checks"])
    rows = [
        ("Surfaces, openings, penetrations", f"{len(surfaces)}, "
            f"{sum(len(one.get('openings', [])) for one in house['surfaces'])}, {penetrations}"),
        ("Area, net of openings", f"{totals['net_m2']} m²"),
        ("Membrane as laid / as bought", f"{totals['as_laid_m2']} / {totals['as_bought_m2']} m²"),
        ("Strips, pieces", f"{len(strips)}, {pieces}"),
        ("Layouts proven cheapest", f"{proven} of {len(surfaces)}"),
        ("Rolls opened (none fewer as cheaply than)", f"{cut['rolls_opened']} ({cut['rolls_bound']})"),
        ("Hours, likely / safe", f"{labour['likely_h']} / {labour['safe_h']} h"),
        ("To look at before starting", f"{warnings} warnings"),
        ("Orders", ", ".join(f"{order['number']} {order['net']} {order['currency']}" for order in orders)),
        (f"Quote {quote['number']}, net / with tax", f"{price['net']} / {price['total']} {price['currency']}"),
    ]  # fmt: skip
    width = max(len(name) for name, _ in rows)
    return "\n" + "\n".join(f"  {name:<{width}}  {value}" for name, value in rows)


class Client:
    """The least that speaks to the API."""

    def __init__(
        self, serving: Serving, *, name: str = "Example Airtight Ltd", kind: AccountKind = "contractor"
    ):
        """Makes an account of its own."""
        store = Store(serving.settings(from_environment()).database_url, pooled=False)
        with store.writing() as session:
            account = accounts.create_account(session, name=name, kind=kind)
            self._key = accounts.create_key(session, account.id, name="demonstration").secret
        self._url = serving.url
        self._headers: dict[str, str] = {}

    def acting_for(self, account: str) -> Client:
        """The same key, acting for a trade customer."""
        other = copy.copy(self)
        other._headers = {"Act-For": account}
        return other

    def get(self, path: str, *, prefer: str = "") -> Any:
        """JSON."""
        return json.loads(self._send("GET", path, prefer=prefer))

    def fetch(self, path: str) -> bytes:
        """Bytes."""
        return self._send("GET", path)

    def post(self, path: str, body: Any = None, *, prefer: str = "") -> Any:
        """Posts JSON, and gives the answer's; None for an empty one."""
        answer = self._send("POST", path, body, prefer=prefer)
        return json.loads(answer) if answer else None

    def change(self, method: str, path: str, body: Any) -> Any:
        """Puts or patches what stands there now."""
        media = "application/merge-patch+json" if method == "PATCH" else "application/json"
        return json.loads(self._send(method, path, body, media=media, match="*"))

    def is_there(self, path: str) -> bool:
        """Does it answer 200 and not 404? Raises DemoFailed for anything else."""
        try:
            self._send("GET", path)
        except DemoFailed as failed:
            if "answered 404" in str(failed):
                return False
            raise
        return True

    def _send(
        self,
        method: str,
        path: str,
        body: Any = None,
        *,
        prefer: str = "",
        media: str = "application/json",
        match: str = "",
    ) -> bytes:
        request = urllib.request.Request(self._url + path, method=method)  # noqa: S310 - our own http
        request.add_header("Authorization", f"Bearer {self._key}")
        for name, value in self._headers.items():
            request.add_header(name, value)
        if match:
            request.add_header("If-Match", match)
        if prefer:
            request.add_header("Prefer", prefer)
        if method == "POST":
            request.add_header("Idempotency-Key", f'"{uuid.uuid4()}"')
        if body is not None:
            request.add_header("Content-Type", media)
            request.data = json.dumps(body).encode()
        try:
            with urllib.request.urlopen(request, timeout=60) as answer:  # noqa: S310
                content: bytes = answer.read()
                return content
        except urllib.error.HTTPError as refusal:
            raise DemoFailed(
                f"{method} {path} was answered {refusal.code}: {refusal.read().decode()}"
            ) from None
        except urllib.error.URLError as error:
            raise DemoFailed(f"{method} {path} was not answered: {error.reason}") from None


def say(what: str) -> None:
    """How far it is, on standard error."""
    click.echo(f"{what}", err=True)

"""Over HTTP, with the worker's own code: quotes with options, links, orders into stock, price books, hours, ledger, audit."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from decimal import Decimal

import pypdf
import pytest
from flask import Flask
from lxml import etree
from sqlalchemy import select, update

from service.app import create_app
from service.records import ledger
from service.records.store import Store
from service.records.tables import Quote, Run
from service.settings import Settings
from service.sheets.xlsx_file import MEDIA_TYPE as XLSX
from tests.documents.test_ubl import schema
from tests.service.api.office import Office
from workers import tasks

OfficeOf = Callable[..., Office]
Work = Callable[[], None]
_DOES = {"plan": tasks._plan, "render": tasks._render, "price": tasks._price}


@pytest.fixture
def app(settings: Settings, store: Store) -> Flask:
    settings = Settings(
        database_url=settings.database_url,
        requests_per_minute=100_000,
        session_secret="a secret of thirty-two characters or more",  # noqa: S106
    )
    return create_app(settings, store)


@pytest.fixture
def work(store: Store) -> Work:
    """Does every run that waits, as a worker does."""

    def do() -> None:
        while True:
            with store.reading() as session:
                run_id = session.scalar(select(Run.id).where(Run.state == "queued").order_by(Run.created_at))
            if run_id is None:
                return
            with store.writing() as session:
                claimed = ledger.claim(session, run_id, worker="test", lease_s=60)
            assert claimed is not None
            _DOES[claimed.run.kind](store, claimed)

    return do


@pytest.fixture
def planned(office: Office, work: Work) -> str:
    job = office.job()
    work()
    return job


def quoted(office: Office, job: str, work: Work, **wish: object) -> dict[str, object]:
    made = office.post(f"/v1/jobs/{job}/quotes", wish)
    work()
    answer = office.get(f"/v1/quotes/{made.json['id']}")
    return dict(answer.json)


def test_options_are_priced_by_a_worker_and_then_issued(office: Office, planned: str, work: Work) -> None:
    plain = quoted(office, planned, work)
    made = office.post(
        f"/v1/jobs/{planned}/quotes",
        {"options": {"collars": "by_others", "fixing": "blown_in", "discount": "0.05"}, "valid_days": 10},
    )
    assert (made.status_code, made.json["pricing"], made.json["price"]) == (202, "queued", None)
    assert made.headers["Location"] == f"/v1/quotes/{made.json['id']}"
    work()
    quote = office.get(f"/v1/quotes/{made.json['id']}").json
    assert (quote["state"], quote["revision"], quote["pricing"]) == ("issued", 2, "ready")
    assert quote["number"] == plain["number"]
    assert office.get(f"/v1/quotes/{plain['id']}").json["state"] == "superseded"
    assert not any("Collar" in line["name"] for line in quote["price"]["lines"])
    assert any(line["group"] == "discount" for line in quote["price"]["lines"])
    parts = office.get(f"/v1/quotes/{quote['id']}/breakdown").json
    assert sum(Decimal(one["net"]) for one in parts["surfaces"]) == Decimal(quote["price"]["net"])
    assert parts["measured"] == office.get(f"/v1/jobs/{planned}/plan").json["take_off"]["measured"] != []
    paper = pypdf.PdfReader(io.BytesIO(office.get(f"/v1/documents/{quote['document']}").data))
    words = re.sub(r"\s+", " ", " ".join(page.extract_text() for page in paper.pages))
    assert "ollars for pipes, ducts and cables" in words
    assert "margin" not in words.lower()
    (name,) = paper.attachments
    xml = office.get(f"/v1/quotes/{quote['id']}.xml")
    assert paper.attachments[name] == [xml.data]
    schema("Quotation").assertValid(etree.fromstring(xml.data))


def test_what_changed_between_revisions_adds_up(office: Office, planned: str, work: Work) -> None:
    first = quoted(office, planned, work)
    assert office.get(f"/v1/quotes/{first['id']}/changes").json["previous"] is None
    second = quoted(office, planned, work, options={"access_charge": "240"}, terms="Half before we begin.")
    changes = office.get(f"/v1/quotes/{second['id']}/changes").json
    assert (changes["previous"], changes["previous_revision"], changes["revision"]) == (first["id"], 1, 2)
    moved = sum(Decimal(line["difference"]) for line in changes["lines"])
    assert moved == Decimal(changes["net_now"]) - Decimal(changes["net_before"])
    access = next(line for line in changes["lines"] if line["group"] == "access")
    assert (access["amount_before"], access["amount_now"]) == (None, "240.00")
    assert {one["what"] for one in changes["others"]} == {"/terms", "/options/access_charge"}


def test_a_draft_is_looked_at_and_issued_as_read(office: Office, planned: str) -> None:
    made = office.post(f"/v1/jobs/{planned}/quotes", {"draft": True, "introduction": "Thank you."})
    path = f"/v1/quotes/{made.json['id']}"
    assert (made.status_code, made.json["state"], made.json["number"]) == (201, "draft", "")
    assert made.json["links"]["issue"] == f"{path}/issue"
    assert office.post(f"{path}/accept").status_code == 409
    assert office.post(f"{path}/link").json["code"] == "quote_not_open"
    assert office.get(f"{path}.xml").json["code"] == "not_rendered_yet"
    assert office.post(f"{path}/issue", If_Match='"other"').status_code == 412
    issued = office.post(f"{path}/issue", If_Match=made.headers["ETag"])
    assert (issued.status_code, issued.json["state"], issued.json["number"][-4:]) == (200, "issued", "0001")
    assert issued.json["price"] == made.json["price"]
    assert office.post(f"{path}/issue").json == issued.json


def test_a_customer_looks_at_a_quote_and_accepts_it_without_a_key(
    office: Office, planned: str, work: Work
) -> None:
    quote = quoted(office, planned, work)
    link = office.post(f"/v1/quotes/{quote['id']}/link").json["url"]
    customer = office.client
    page = customer.get(link)
    assert page.status_code == 200
    assert page.headers["X-Robots-Tag"].startswith("noindex")
    assert "no-store" in page.headers["Cache-Control"]
    assert str(quote["number"]) in page.text
    assert "mark-up" not in page.text
    assert customer.get(f"{link}/quote.pdf").data.startswith(b"%PDF")
    profile = office.get("/v1/account")
    changed = {"name": "Example Holdings Ltd", "tax_name": "GST", "language": "de_DE"}
    office.send("PATCH", "/v1/account", changed, If_Match=profile.headers["ETag"])
    later = customer.get(link).text
    assert "Example Airtight Ltd" in later  # as its paper says it
    assert "VAT" in later
    assert "Holdings" not in later
    assert "GST" not in later
    assert customer.post(link, data={"answer": "accept", "name": " "}).status_code == 422
    assert customer.post(link, data={"answer": "perhaps", "name": "A. Sample"}).status_code == 422
    assert customer.post(link, data={"answer": "accept", "name": "A. <Sample>"}).status_code == 303
    answered = office.get(f"/v1/quotes/{quote['id']}").json
    assert (answered["state"], answered["answered_by"]) == ("accepted", "A. <Sample>")
    assert "A. &lt;Sample&gt;" in customer.get(link).text
    assert customer.post(link, data={"answer": "decline", "name": "A. Sample"}).status_code == 409
    entry = office.get(f"/v1/account/audit?subject={quote['id']}").json["items"][0]
    assert (entry["action"], entry["key"], entry["by"]) == ("quote.accepted", None, None)
    assert entry["detail"] == "A. <Sample>, by the customer's link"


def test_a_link_that_is_changed_or_over_opens_nothing(
    office: Office, planned: str, work: Work, store: Store
) -> None:
    quote = quoted(office, planned, work)
    link = office.post(f"/v1/quotes/{quote['id']}/link").json["url"]
    middle = len(link) - 20  # a letter of the signature, all of whose bits count
    forged = link[:middle] + ("A" if link[middle] != "A" else "B") + link[middle + 1 :]
    for other in (forged, link[:-8], "/offer/x", link + "x" * 600):
        for send in (office.client.get, office.client.post):
            answer = send(other, data={"answer": "accept", "name": "A. Sample"})
            assert (answer.status_code, "opens nothing" in answer.text) == (404, True)
    with store.writing() as session:
        session.execute(update(Quote).values(valid_until=Quote.issued_on))
        session.execute(update(Quote).values(state="issued"))
    late = office.post(f"/v1/quotes/{quote['id']}/link").json
    assert late["expires_at"] > str(quote["issued_on"])
    assert office.get(f"/v1/quotes/{quote['id']}").json["state"] == "issued"


def test_an_order_moves_on_and_what_came_is_on_hand_once(office: Office, planned: str, work: Work) -> None:
    orders = office.post(
        f"/v1/jobs/{planned}/orders", {"deliver_to": ["4 Sample Yard"], "deliver_on": "2026-12-01"}
    ).json["items"]
    work()
    order = orders[0]
    path = f"/v1/orders/{order['id']}"
    assert (order["deliver_to"], order["deliver_on"]) == (["4 Sample Yard"], "2026-12-01")
    document = etree.fromstring(office.get(f"{path}.xml").data)
    schema("Order").assertValid(document)
    assert "4 Sample Yard" in "".join(document.itertext())
    paper = pypdf.PdfReader(io.BytesIO(office.get(office.get(path).json["links"]["document"]).data))
    assert "Draft" not in paper.pages[0].extract_text()  # it is what the supplier gets
    assert office.post(f"{path}/receive").json["code"] == "order_moved_on"
    before = {one["code"]: Decimal(one["on_hand"]) for one in office.get("/v1/price-book").json["products"]}
    for verb, state in (("send", "sent"), ("confirm", "confirmed"), ("receive", "received")):
        assert office.post(f"{path}/{verb}").json["state"] == state
    assert office.post(f"{path}/receive").status_code == 200
    assert office.post(f"{path}/send").status_code == 409
    book = office.get("/v1/price-book")
    assert book.headers["Lapwise-Source"] == "own"
    for product in book.json["products"]:
        came = sum(
            line["packs"] * Decimal(line["pack_size"])
            for line in order["lines"]
            if line["product"] == product["code"]
        )
        if product["kind"] == "sealant" and product["unit"] == "piece":
            came /= Decimal(product["millilitres"])
        assert Decimal(product["on_hand"]) == before[product["code"]] + came
    again = office.job(reference="T-2")
    work()
    lines = office.get(f"/v1/jobs/{again}/plan").json["order_lines"]
    assert any(Decimal(line["from_stock"]) > 0 for line in lines)


def test_a_price_book_comes_as_a_table_whole_or_not_at_all(office: Office) -> None:
    csv = office.get("/v1/price-book.csv")
    assert csv.content_type == "text/csv"
    etag = csv.headers["ETag"]
    bad = csv.data.replace(b",120.00,", b",dear,").replace(b",lap_tape,", b",lap-tape,")
    put = {"Content_Type": "text/csv", "If_Match": etag}
    assert office.send("PUT", "/v1/price-book.csv", bad, Content_Type="text/csv").status_code == 428
    assert (
        office.send(
            "PUT", "/v1/price-book.csv", b"{}", Content_Type="application/json", If_Match=etag
        ).status_code
        == 415
    )
    refused = office.send("PUT", "/v1/price-book.csv", bad, **put)
    assert refused.status_code == 422
    assert all(re.match(r"/rows/\d+/", fault["pointer"]) for fault in refused.json["errors"])
    assert office.get("/v1/price-book.csv").headers["ETag"] == etag
    better = csv.data.replace(b"Membrane", b"Other membrane")
    stored = office.send("PUT", "/v1/price-book.csv", better, **put)
    assert stored.status_code == 200
    assert any("Other membrane" in product["name"] for product in stored.json["products"])
    assert office.send("PUT", "/v1/price-book.csv", better, **put).status_code == 412
    sheet = office.get("/v1/price-book.xlsx")
    back = office.send(
        "PUT", "/v1/price-book.xlsx", sheet.data, Content_Type=XLSX, If_Match=sheet.headers["ETag"]
    )
    assert (back.status_code, back.json["products"]) == (200, stored.json["products"])


def test_a_price_book_as_office_spreadsheets_save_it_is_taken_and_the_answer_says_how_it_was_read(
    office: Office,
) -> None:
    profile = office.get("/v1/account")
    office.send("PATCH", "/v1/account", {"language": "de_DE"}, If_Match=profile.headers["ETag"])
    plain, own = office.get("/v1/price-book.csv"), office.get("/v1/price-book.csv?style=account")
    assert b";120,00;" in own.data
    assert own.headers["ETag"] == plain.headers["ETag"]
    put = {"Content_Type": "text/csv", "If_Match": plain.headers["ETag"]}
    dearer = own.data.replace(b";120,00;", b";1.120,00;")
    doubtful = own.data.replace(b";120,00;", b";120.00;")
    refused = office.send("PUT", "/v1/price-book.csv", doubtful, **put)
    assert refused.status_code == 422
    assert "120.00" in refused.json["errors"][0]["detail"]
    assert "semicolons between cells, decimal commas" in refused.json["detail"]
    against = office.send("PUT", "/v1/price-book.csv?decimal_sign=point", own.data, **put)
    assert (against.status_code, office.get("/v1/price-book.csv").data) == (422, plain.data)
    same = office.send("PUT", "/v1/price-book.csv", dearer, **put)
    assert same.status_code == 200
    said = "semicolons between cells, decimal commas, points between thousands"
    assert same.headers["Lapwise-Read-As"] == said
    assert same.json["products"][0]["packs"][0]["price"] == "1120.00"
    back = office.send("PUT", "/v1/price-book.csv", plain.data, **put | {"If_Match": same.headers["ETag"]})
    assert back.headers["Lapwise-Read-As"] == "commas between cells, decimal points"
    assert office.get("/v1/price-book.csv").data == plain.data


def test_recorded_hours_move_the_next_plan_and_quotes_of_it(office: Office, planned: str, work: Work) -> None:
    def taping(job: str) -> list[dict[str, object]]:
        lines = office.get(f"/v1/jobs/{job}/plan").json["labour"]["operations"]
        return [line for line in lines if line["operation"] == "tape_lap"]

    start = taping(planned)
    hours = sum(Decimal(str(line["hours"])) for line in start)
    twice = {"operations": [{"operation": "tape_lap", "hours": str(2 * hours)}]}
    assert office.post(f"/v1/jobs/{planned}/hours", twice).status_code == 201
    again = office.job(reference="T-2")
    work()
    (learnt,) = {line["minutes_per_unit"] for line in taping(again)}
    assert {line["jobs_behind"] for line in taping(again)} == {1}
    started = Decimal(str(start[0]["minutes_per_unit"]))
    assert started < Decimal(str(learnt)) < 2 * started
    quote = quoted(office, again, work, options={"hours": "likely"})
    assert quote["price"] == office.get(f"/v1/jobs/{again}/plan").json["price"]
    third = office.job(reference="T-3")
    work()
    assert {line["minutes_per_unit"] for line in taping(third)} == {learnt}  # no job counts twice


def test_the_ledger_sets_quoted_beside_actual(office: Office, planned: str, work: Work) -> None:
    ledger_path = f"/v1/jobs/{planned}/ledger"
    assert office.get(ledger_path).json["quote"] is None
    quote = quoted(office, planned, work)
    office.post(f"/v1/quotes/{quote['id']}/accept")
    quoted(
        office, planned, work, options={"discount": "0.5"}
    )  # a later revision does not move an accepted job
    order = office.post(f"/v1/jobs/{planned}/orders").json["items"][0]
    office.post(f"/v1/orders/{order['id']}/send")
    office.post(
        f"/v1/jobs/{planned}/hours",
        {"operations": [{"operation": "tape_lap", "hours": "2.5"}, {"operation": "staple", "hours": "1"}]},
    )
    found = office.get(ledger_path).json
    assert (found["quote"]["id"], found["quote"]["state"]) == (quote["id"], "accepted")
    assert found["recorded_h"] == "3.5"
    money = found["in_money"]
    assert money["recorded_labour"] == "98.00"  # 3.5 h at 28.00
    assert money["ordered_materials"] == order["net"]
    assert Decimal(money["result"]) == Decimal(money["quoted_net"]) - 98 - Decimal(order["net"])
    for line in order["lines"]:
        (row,) = [
            one
            for one in found["packs"]
            if (one["product"], Decimal(one["pack_size"])) == (line["product"], Decimal(line["pack_size"]))
        ]
        assert (row["quoted"], row["ordered"], row["received"]) == (line["packs"], line["packs"], 0)


@pytest.mark.parametrize(("currency", "labour"), [("JPY", "27"), ("KWD", "26.992"), ("EUR", "26.99")])
def test_the_ledger_rounds_to_the_currencys_minor_unit(
    office: Office, work: Work, currency: str, labour: str
) -> None:
    read = office.get("/v1/account")
    office.send("PATCH", "/v1/account", {"currency": currency}, If_Match=read.headers["ETag"])
    job = office.job()
    work()
    office.post(f"/v1/jobs/{job}/hours", {"operations": [{"operation": "tape_lap", "hours": "0.964"}]})
    money = office.get(f"/v1/jobs/{job}/ledger").json["in_money"]
    assert (money["currency"], money["recorded_labour"]) == (currency, labour)  # 0.964 h at 28.00


def test_a_part_of_an_order_is_on_hand_while_the_rest_is_to_come(office: Office, planned: str) -> None:
    order = office.post(f"/v1/jobs/{planned}/orders").json["items"][0]
    path, lines = f"/v1/orders/{order['id']}", order["lines"]
    office.post(f"{path}/send")
    assert office.get(path).json["came"] is None
    one = {name: lines[0][name] for name in ("product", "pack_size")}

    def on_hand() -> Decimal:
        products = office.get("/v1/price-book").json["products"]
        return Decimal(next(p["on_hand"] for p in products if p["code"] == one["product"]))

    before, size, packs = on_hand(), Decimal(one["pack_size"]), lines[0]["packs"]
    first = office.post(f"{path}/receive", {"lines": [{**one, "packs": 1}]}, Idempotency_Key="van-1")
    assert (first.json["state"], first.json["came"]) == ("sent", [{**one, "packs": 1}])
    again = office.post(f"{path}/receive", {"lines": [{**one, "packs": 1}]}, Idempotency_Key="van-1")
    assert again.json["came"] == [{**one, "packs": 1}]
    assert on_hand() == before + size
    for bad in (
        {**one, "packs": packs},
        {**one, "pack_size": "7", "packs": 1},
        {"product": "none", "packs": 1},
    ):
        refused = office.post(f"{path}/receive", {"lines": [bad]})
        assert (refused.status_code, refused.json["code"]) == (409, "not_so_ordered")
    row = next(
        r for r in office.get(f"/v1/jobs/{planned}/ledger").json["packs"] if r["product"] == one["product"]
    )
    assert (row["ordered"], row["received"]) == (packs, 1)
    assert office.post(f"/v1/jobs/{planned}/finish").json["code"] == "order_under_way"
    rest = office.post(f"{path}/receive")
    assert rest.json["state"] == "received"
    assert sum(line["packs"] for line in rest.json["came"]) == sum(line["packs"] for line in lines)
    assert on_hand() == before + size * packs
    entries = [entry["action"] for entry in office.get("/v1/account/audit").json["items"]]
    assert entries[:2] == ["order.received", "order.part_received"]


def test_an_order_is_closed_without_what_never_came(office: Office, planned: str) -> None:
    order = office.post(f"/v1/jobs/{planned}/orders").json["items"][0]
    path, line = f"/v1/orders/{order['id']}", order["lines"][0]
    office.post(f"{path}/send")
    came = {"product": line["product"], "pack_size": line["pack_size"], "packs": 1}
    closed = office.post(f"{path}/receive", {"lines": [came], "rest": "not_coming"}).json
    assert (closed["state"], closed["came"]) == ("received", [came])
    money = office.get(f"/v1/jobs/{planned}/ledger").json["in_money"]
    assert Decimal(money["ordered_materials"]) == Decimal(line["pack_price"])
    assert office.post(f"{path}/receive").json["came"] == [came]
    assert office.post(f"{path}/receive", {"lines": [came]}).json["code"] == "order_moved_on"
    used = office.post(f"/v1/jobs/{planned}/finish").json["used"]
    others = [
        one for one in order["lines"] if one["product"] != line["product"] and one["kind"] != "membrane"
    ]
    assert {one["taken"] for one in used if one["product"] in {other["product"] for other in others}} == {"0"}


def test_a_trade_pack_is_made_once_it_is_asked_for(office: Office, planned: str, work: Work) -> None:
    path = f"/v1/jobs/{planned}/trade-pack"
    assert office.post(path).status_code == 202
    assert office.post(path).status_code == 202
    work()
    made = office.post(path)
    assert (made.status_code, made.json["kind"]) == (200, "trade_pack")
    words = pypdf.PdfReader(io.BytesIO(office.get(made.json["content"]).data)).pages[0].extract_text()
    assert "110 mm" in words
    listed = office.get(f"/v1/jobs/{planned}/documents?kind=trade_pack").json["items"]
    assert [one["id"] for one in listed] == [made.json["id"]]


def test_a_merchants_customers_buy_at_their_level_with_stock_of_their_own(
    office_of: OfficeOf, work: Work
) -> None:
    merchant = office_of(name="Example Supplies", kind="merchant")
    book = merchant.get("/v1/price-book")
    products = [{**product, "on_hand": "1000"} for product in book.json["products"]]
    merchant.send("PATCH", "/v1/price-book", {"products": products}, If_Match=book.headers["ETag"])
    one, two = (
        merchant.post("/v1/account/customers", {"name": name}).json["id"]
        for name in ("Example One", "Example Two")
    )
    levels = {
        "levels": [{"code": "regular", "name": "Regular", "change": "-0.1"}],
        "customers": [{"account": one, "level": "regular"}],
    }
    put = merchant.send(
        "PUT", "/v1/price-levels", levels, If_Match=merchant.get("/v1/price-levels").headers["ETag"]
    )
    assert put.status_code == 200
    stranger = office_of(kind="contractor")
    bad = {"levels": [], "customers": [{"account": stranger.account, "level": "none"}], "others": "none"}
    refused = merchant.send("PUT", "/v1/price-levels", bad, If_Match=put.headers["ETag"])
    assert {fault["pointer"] for fault in refused.json["errors"]} == {
        "/others", "/customers/0/level", "/customers/0/account",
    }  # fmt: skip
    assert stranger.get("/v1/price-levels").status_code == 409
    full = {p["code"]: p["packs"][0]["price"] for p in products}
    for account, factor in ((one, Decimal("0.9")), (two, Decimal(1))):
        served = merchant.get("/v1/price-book", Act_For=account)
        assert served.headers["Lapwise-Source"] == "merchant"
        for product in served.json["products"]:
            assert Decimal(product["packs"][0]["price"]) == (
                Decimal(full[product["code"]]) * factor
            ).quantize(Decimal("0.01"))
            assert product["on_hand"] == "0"
    sent = merchant.post("/v1/jobs", {**_job()}, Act_For=one).json["id"]
    work()
    order = merchant.post(f"/v1/jobs/{sent}/orders", Act_For=one).json["items"][0]
    for verb in ("send", "receive"):
        assert merchant.post(f"/v1/orders/{order['id']}/{verb}", Act_For=one).status_code == 200
    served = merchant.get("/v1/price-book", Act_For=one)
    assert served.headers["Lapwise-Source"] == "merchant"
    assert any(Decimal(product["on_hand"]) > 0 for product in served.json["products"])
    untouched = merchant.get("/v1/price-book").json["products"]
    assert {product["on_hand"] for product in untouched} == {"1000"}
    entries = merchant.get("/v1/account/audit", Act_For=one).json["items"]
    assert {entry["by"] for entry in entries} == {merchant.account}
    assert "order.received" in {entry["action"] for entry in entries}


def _job() -> dict[str, object]:
    from service.api.examples import JOB  # noqa: PLC0415

    return JOB


def test_dated_prices_hold_on_their_days_and_are_warned_of_after(office: Office, work: Work) -> None:
    book = office.get("/v1/price-book")
    products = [dict(product) for product in book.json["products"]]
    for product in products:
        if product["kind"] == "membrane":
            product["packs"] = [{**pack, "valid_until": "2020-12-31"} for pack in product["packs"]]
        if product["kind"] == "staples":
            product["packs"] = [
                *({**pack, "price": "999.00", "valid_until": "2020-12-31"} for pack in product["packs"]),
                *({**pack, "price": "1.00", "valid_from": "2021-01-01"} for pack in product["packs"]),
            ]
    office.send("PATCH", "/v1/price-book", {"products": products}, If_Match=book.headers["ETag"])
    job = office.job()
    work()
    plan = office.get(f"/v1/jobs/{job}/plan").json
    warned = [check["message"] for check in plan["checks"] if check["code"] == "price_not_in_force"]
    assert warned
    assert all("held until 2020-12-31" in message for message in warned)
    staples = [line for line in plan["order_lines"] if line["kind"] == "staples"]
    assert {line["pack_price"] for line in staples} == {"1.00"}


def test_the_audit_trail_is_read_page_by_page_and_by_admins_alone(
    office: Office, office_of: OfficeOf
) -> None:
    for number in range(3):
        office.post("/v1/account/keys", {"name": f"key {number}", "scopes": ["read"]})
    page = office.get("/v1/account/audit?limit=2").json
    assert [entry["action"] for entry in page["items"]] == ["key.made"] * 2
    assert {entry["key_name"] for entry in page["items"]} == {"test"}
    rest = office.get(page["next"]).json["items"]
    assert len(rest) == 1
    reader = office_of(account=office.account, scopes=("read", "write"))
    assert reader.get("/v1/account/audit").status_code == 403
    assert office_of().get("/v1/account/audit").json["items"] == []

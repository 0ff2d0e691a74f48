"""An account's standard, outputs and price book."""

from decimal import Decimal

import pytest

from api_schema.defaults import default_outputs, default_price_book, default_standard
from api_schema.shape import dump
from service.records import accounts, own_values, served_books
from service.records.errors import NotFound, Stale
from service.records.store import Store
from service.records.tables import Account


def test_the_defaults_hold_until_something_is_stored(store: Store, account: Account) -> None:
    with store.reading() as session:
        value = own_values.get_value(session, account.id, "standard")
    assert (value.source, value.version) == ("default", 0)
    assert value.record() == default_standard()


def test_what_is_stored_holds_and_a_second_first_change_is_stale(store: Store, account: Account) -> None:
    body = {**dump(default_standard()), "lap_mm": 120}
    with store.writing() as session:
        own_values.put_value(session, account.id, "standard", body, if_version=0)
    with store.writing() as session, pytest.raises(Stale):
        own_values.put_value(session, account.id, "standard", body, if_version=0)
    with store.writing() as session:
        again = own_values.put_value(session, account.id, "standard", {**body, "lap_mm": 130}, if_version=1)
        assert again.version == 2
    with store.writing() as session, pytest.raises(Stale):
        own_values.put_value(session, account.id, "standard", body, if_version=1)
    with store.reading() as session:
        value = own_values.get_value(session, account.id, "standard")
        assert (value.source, value.version, value.body["lap_mm"]) == ("own", 2, 130)


def test_operations_that_stored_outputs_do_not_name_keep_their_starting_values(
    store: Store, account: Account
) -> None:
    """As when an operation came to be known after they were stored."""
    start = dump(default_outputs())
    doubled = {**start["operations"][0], "high_minutes": "99"}
    with store.writing() as session:
        own_values.put_value(session, account.id, "outputs", {**start, "operations": [doubled]}, if_version=0)
    with store.reading() as session:
        body = own_values.get_value(session, account.id, "outputs").body
    assert body["operations"] == [doubled, *start["operations"][1:]]


def test_a_merchants_price_book_serves_its_customers_until_they_have_their_own(store: Store) -> None:
    book = {**dump(default_price_book()), "currency": "USD"}
    with store.writing() as session:
        merchant = accounts.create_account(session, name="Example Merchant", kind="merchant")
        customer = accounts.create_customer(session, merchant.id, name="Example Lining")
        own_values.put_value(session, merchant.id, "price_book", book, if_version=0)
    with store.reading() as session:
        value = own_values.get_value(session, customer.id, "price_book")
        assert (value.source, value.body["currency"]) == ("merchant", "USD")
        assert own_values.get_value(session, customer.id, "standard").source == "default"
    with store.writing() as session:
        own_values.put_value(session, customer.id, "price_book", {**book, "currency": "EUR"}, if_version=0)
    with store.reading() as session:
        assert own_values.get_value(session, customer.id, "price_book").body["currency"] == "EUR"


def test_customers_of_a_merchant_without_a_price_book_buy_the_defaults_at_their_level(store: Store) -> None:
    with store.writing() as session:
        merchant = accounts.create_account(session, name="Example Merchant", kind="merchant")
        customer = accounts.create_customer(session, merchant.id, name="Example Lining")
        levels = {
            "levels": [{"code": "regular", "name": "Regular", "change": "-0.08"}],
            "customers": [],
            "others": "regular",
        }
        served_books.put_levels(session, merchant.id, levels, if_version=0)
    with store.reading() as session:
        value = own_values.get_value(session, customer.id, "price_book")
        roll = dump(default_price_book())["products"][0]["packs"][0]
        assert value.source == "merchant"
        assert Decimal(value.body["products"][0]["packs"][0]["price"]) == Decimal(roll["price"]) * Decimal(
            "0.92"
        )


@pytest.mark.parametrize(
    ("currency", "price", "moved"),
    [
        ("EUR", "10.05", "9.25"),  # 9.246
        ("JPY", "105", "97"),  # 96.6
        ("JPY", "120.00", "110"),  # 110.4
        ("KWD", "1.234", "1.135"),  # 1.13528
        ("EUR", "0.1250", "0.115"),  # a unit price stays as fine as it was
    ],
)
def test_a_level_moves_prices_to_the_currencys_minor_unit(
    store: Store, currency: str, price: str, moved: str
) -> None:
    book = {**dump(default_price_book()), "currency": currency}
    pack = {**book["products"][0]["packs"][0], "price": price}
    book["products"] = [{**book["products"][0], "packs": [pack]}]
    with store.writing() as session:
        merchant = accounts.create_account(session, name="Example Merchant", kind="merchant")
        customer = accounts.create_customer(session, merchant.id, name="Example Lining")
        own_values.put_value(session, merchant.id, "price_book", book, if_version=0)
        level = {"code": "regular", "name": "Regular", "change": "-0.08"}
        served_books.put_levels(
            session, merchant.id, {"levels": [level], "customers": [], "others": "regular"}, if_version=0
        )
    with store.reading() as session:
        served = own_values.get_value(session, customer.id, "price_book").body
        assert served["products"][0]["packs"][0]["price"] == moved


def test_a_snapshot_keeps_what_held_then_and_is_the_accounts_own(store: Store, account: Account) -> None:
    with store.writing() as session:
        kept = own_values.keep_snapshots(session, account.id)
        other = accounts.create_account(session, name="Other Example", kind="contractor")
        assert own_values.keep_snapshots(session, account.id) == kept
    with store.writing() as session:
        body = {**dump(default_standard()), "lap_mm": 150}
        own_values.put_value(session, account.id, "standard", body, if_version=0)
        assert own_values.keep_snapshots(session, account.id)["standard"] != kept["standard"]
    with store.reading() as session:
        assert own_values.get_snapshot(session, account.id, kept["standard"]) == dump(default_standard())
        with pytest.raises(NotFound):
            own_values.get_snapshot(session, other.id, kept["standard"])


def test_the_profiles_tax_rate_takes_the_place_of_the_price_books(store: Store, account: Account) -> None:
    with store.writing() as session:
        accounts.put_profile(session, account.id, {**account.profile, "tax_rate": "0.07"}, if_version=1)
        kept = own_values.keep_snapshots(session, account.id)
        book = own_values.get_snapshot(session, account.id, kept["price_book"])
    assert book["rules"]["tax_rate"] == "0.07"
    assert book["products"] == dump(default_price_book())["products"]

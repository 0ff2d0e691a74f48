"""The account's standard, outputs and price book: three values with the same verbs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from api_schema.outputs import Outputs
from api_schema.price_book import PriceBook
from api_schema.problem import Fault
from api_schema.product_checks import faults_of_product
from api_schema.standard import Standard
from api_schema.tax import STANDARD, WITHOUT_TAX
from service.api import provenance
from service.api.editing import check_match, loaded, merge_patch, storable
from service.api.locales import currency_faults
from service.api.noting import note
from service.api.operation import Answer, Asked, Resource
from service.api.problems import bad_input
from service.records.own_values import OwnValue, ValueName, get_value, put_value

_RATES_OF_RULES = ("labour_tax", "access_tax", "travel_tax")


def _answer(value: OwnValue) -> Answer:
    return Answer(value.body, etag=value.sha256, headers={"Lapwise-Source": value.source})


def _read(asked: Asked, name: ValueName) -> Answer:
    return _answer(get_value(asked.session, asked.caller.account_id, name))


def _replace(asked: Asked, name: ValueName) -> Answer:
    return store_value(asked, name, get_value(asked.session, asked.caller.account_id, name), asked.body)


def _change(asked: Asked, name: ValueName) -> Answer:
    value = get_value(asked.session, asked.caller.account_id, name)
    check_match(asked.if_match, value.sha256)
    record = loaded(type(value.record()), merge_patch(value.body, asked.body))
    return store_value(asked, name, value, record)


def store_value(asked: Asked, name: ValueName, value: OwnValue, record: Any) -> Answer:
    """Stores a record in place of `value`, where that is the version the caller read and nothing in it is wrong."""
    check_match(asked.if_match, value.sha256)
    faults = _faults(record)
    if faults:
        raise bad_input(faults)
    kept = provenance.of_edit(value.record(), record)
    stored = put_value(asked.session, asked.caller.account_id, name, storable(kept), if_version=value.version)
    note(asked, f"{name}.changed", asked.caller.account_id)
    return _answer(stored)


def _faults(record: Any) -> tuple[Fault, ...]:
    """What one field alone does not show: names that stand twice or lead nowhere, ranges upside down."""
    if isinstance(record, PriceBook):
        return _book_faults(record)
    if isinstance(record, Outputs):
        return _output_faults(record)
    return ()


def _book_faults(book: PriceBook) -> tuple[Fault, ...]:
    faults = list(currency_faults(book.currency))
    suppliers = [supplier.code for supplier in book.suppliers]
    products = [product.code for product in book.products]
    faults += _twice(suppliers, "/suppliers", "code")
    faults += _twice(products, "/products", "code")
    faults += _tax_faults(book)
    for place, product in enumerate(book.products):
        here = f"/products/{place}"
        if product.supplier not in suppliers:
            faults.append(
                Fault(f"{here}/supplier", f'"{product.supplier}" is not among the suppliers; add it there.')
            )
        faults += [Fault(here + fault.pointer, fault.detail) for fault in faults_of_product(product)]
    faults += [
        Fault(
            f"/offcuts/{place}/product",
            f'"{offcut.product}" is not among the products; add it or mend the code.',
        )
        for place, offcut in enumerate(book.offcuts)
        if offcut.product not in products
    ]
    return tuple(faults)


def _tax_faults(book: PriceBook) -> Iterator[Fault]:
    codes = [rate.code for rate in book.tax_rates]
    yield from _twice(codes, "/tax_rates", "code")
    for place, rate in enumerate(book.tax_rates):
        if rate.code == STANDARD:
            yield Fault(
                f"/tax_rates/{place}/code",
                'stands in the rules as tax_rate, and every line without a rate has it; choose a code other than "standard".',
            )
        if rate.category in WITHOUT_TAX and rate.rate:
            yield Fault(f"/tax_rates/{place}/rate", f"must be 0 where the category is {rate.category}.")
        if rate.category not in WITHOUT_TAX and not rate.rate:
            yield Fault(
                f"/tax_rates/{place}/category",
                f"must be one of {', '.join(WITHOUT_TAX)} where the rate is 0.",
            )
    known = (STANDARD, *codes)
    named = [(f"/products/{place}/tax", product.tax) for place, product in enumerate(book.products)]
    named += [(f"/rules/{name}", getattr(book.rules, name)) for name in _RATES_OF_RULES]
    for pointer, code in named:
        if code is not None and code not in known:
            yield Fault(pointer, f'"{code}" is not among the tax rates: {", ".join(known)}.')


def _output_faults(outputs: Outputs) -> tuple[Fault, ...]:
    faults = _twice([output.operation for output in outputs.operations], "/operations", "operation")
    faults += _twice([condition.name for condition in outputs.conditions], "/conditions", "name")
    for place, output in enumerate(outputs.operations):
        if not output.low_minutes <= output.likely_minutes <= output.high_minutes:
            faults.append(
                Fault(
                    f"/operations/{place}/likely_minutes",
                    f"must lie between low_minutes ({output.low_minutes}) and high_minutes ({output.high_minutes}).",
                )
            )
    return tuple(faults)


def _twice(names: list[str], pointer: str, member: str) -> list[Fault]:
    return [
        Fault(f"{pointer}/{place}/{member}", f'"{name}" stands twice; each may stand once.')
        for place, name in enumerate(names)
        if name in names[:place]
    ]


def _resource(
    path: str, title: str, description: str, *, name: ValueName, record: type[Any], patch: Mapping[str, Any]
) -> Resource:
    resource = Resource(path, title, description)
    short = title.lower()

    def read(asked: Asked) -> Answer:
        return _read(asked, name)

    def replace(asked: Asked) -> Answer:
        return _replace(asked, name)

    def change(asked: Asked) -> Answer:
        return _change(asked, name)

    read.__name__, replace.__name__, change.__name__ = f"read_{name}", f"replace_{name}", f"change_{name}"
    read.__doc__ = (
        f"Gives the {short} that holds for your next plan. `Lapwise-Source` says whether it is your own, your "
        "merchant's, or the default; each value says where it comes from."
    )
    replace.__doc__ = (
        f"Replaces the {short}. Values that differ from what stood there become yours. Plans made before keep "
        "the values they were made with."
    )
    change.__doc__ = (
        f"Changes what you name in the {short} and leaves the rest; `null` puts a value back to its default, and a "
        "list is replaced whole. Changed values become yours."
    )
    address = f"/v1/{path}"
    resource.operation("GET", address, f"Read the {short}", scope="read", gives={200: record}, etag=True)(
        read
    )
    resource.operation(
        "PUT",
        address,
        f"Replace the {short}",
        scope="write",
        takes=record,
        gives={200: record},
        edits=True,
        etag=True,
    )(replace)
    resource.operation(
        "PATCH", address, f"Change the {short}", scope="write", takes=record, example=patch, gives={200: record},
        edits=True, etag=True,
    )(change)  # fmt: skip
    return resource


RESOURCES = (
    _resource(
        "standard",
        "Standard",
        "The installation standard you work to: laps, allowances, fixing centres, waste. Each value says where it comes from.",
        name="standard",
        record=Standard,
        patch={"lap_mm": 120, "edge_masonry_mm": "10 cm"},
    ),
    _resource(
        "outputs",
        "Outputs",
        "Your labour outputs: minutes of one person per unit of each operation, and the conditions that change them.",
        name="outputs",
        record=Outputs,
        patch={"crew_size": 3, "hours_per_day": "8"},
    ),
    _resource(
        "price-book",
        "Price book",
        "The products you buy, in which packs, from whom and at what price, and how you make a price from them.",
        name="price_book",
        record=PriceBook,
        patch={"rules": {"labour_cost_per_h": "31.50", "material_markup": "0.18"}},
    ),
)

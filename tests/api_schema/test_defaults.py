"""What a new account starts from."""

import itertools

import pytest

from api_schema.defaults import default_outputs, default_price_book, default_standard
from api_schema.outputs import OPERATIONS, Outputs
from api_schema.price_book import PRODUCT_KINDS, PriceBook
from api_schema.shape import dump, load
from api_schema.standard import Standard

# EN 1057 copper tube (published); EN 1329/1401 plastic, EN 1506 duct, EN 61386 conduit (recalled).
PIPE_SIZES_MM = sorted(
    {15, 22, 28, 35, 42, 54, 32, 40, 50, 63, 75, 90, 110, 125, 160, 80, 100, 150, 200, 250, 16, 20, 25}
)


@pytest.mark.parametrize(
    ("record", "made"),
    [(Standard, default_standard()), (Outputs, default_outputs()), (PriceBook, default_price_book())],
    ids=["standard", "outputs", "price book"],
)
def test_the_defaults_travel_as_json_and_come_back_the_same(record, made):
    assert load(record, dump(made)) == made


def test_every_operation_has_exactly_one_output():
    assert sorted(output.operation for output in default_outputs().operations) == sorted(OPERATIONS)


def test_outputs_never_fall_from_low_to_high():
    for output in default_outputs().operations:
        assert 0 < output.low_minutes <= output.likely_minutes <= output.high_minutes, output.operation


def test_every_output_and_condition_says_where_it_comes_from():
    outputs = default_outputs()
    for entry in outputs.operations + outputs.conditions:
        assert entry.note
        if entry.provenance == "published":
            assert "GESN" in entry.note


def test_every_other_value_of_the_outputs_says_where_it_comes_from():
    outputs = default_outputs()
    named = {entry.of for entry in outputs.provenance if entry.note}
    assert named == set(Outputs.__dataclass_fields__) - {"operations", "conditions", "provenance"}


def test_hanging_a_square_metre_takes_what_the_published_norm_says():
    """P: state norm GESN 12-01-015-03, loose-laid vapour barrier, 6.94 man-hours per 100 m²."""
    hang = next(output for output in default_outputs().operations if output.operation == "hang_membrane")
    assert float(hang.likely_minutes) == pytest.approx(6.94 * 60 / 100, abs=0.005)


def test_every_value_of_the_standard_says_where_it_comes_from():
    standard = default_standard()
    named = {entry.of for entry in standard.provenance}
    values = set(Standard.__dataclass_fields__) - {"provenance"}
    assert named == values


def test_every_price_is_marked_invented_and_every_supplier_is_an_example():
    book = default_price_book()
    assert {product.provenance for product in book.products} == {"invented"}
    assert all(supplier.name.startswith("Example ") for supplier in book.suppliers)
    assert book.rules.provenance == "invented"


def test_every_product_is_sold_by_a_supplier_in_the_book_under_a_code_of_its_own():
    book = default_price_book()
    assert {product.supplier for product in book.products} == {supplier.code for supplier in book.suppliers}
    codes = [product.code for product in book.products]
    assert len(codes) == len(set(codes))


def test_every_kind_that_is_measured_can_be_bought():
    bought = {product.kind for product in default_price_book().products}
    assert bought == set(PRODUCT_KINDS)


def test_collars_leave_no_gap_from_a_single_cable_to_450_mm():
    ranges = sorted(
        (product.smallest_mm, product.largest_mm)
        for product in default_price_book().products
        if product.kind == "collar"
    )
    assert ranges[0][0] <= 6
    assert ranges[-1][1] == 450
    for (_, largest), (smallest, _) in itertools.pairwise(ranges):
        assert smallest == largest + 1


@pytest.mark.parametrize("diameter_mm", PIPE_SIZES_MM)
def test_a_collar_holds_every_usual_pipe_duct_and_conduit(diameter_mm):
    assert any(
        product.smallest_mm <= diameter_mm <= product.largest_mm
        for product in default_price_book().products
        if product.kind == "collar"
    )


def test_bigger_packs_and_breaks_are_never_dearer_by_the_unit():
    for product in default_price_book().products:
        packs = sorted(product.packs, key=lambda pack: pack.size)
        for pack in packs:
            prices = [pack.price, *(step.price for step in pack.breaks)]
            assert prices == sorted(prices, reverse=True)
        rates = [pack.price / pack.size for pack in packs]
        assert rates == sorted(rates, reverse=True), product.code

"""Names of price lines say the same to whoever takes them apart."""

from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from api_schema.line_names import Material, material_of, operation_of, packs_named, stock_named
from api_schema.outputs import OPERATION_WORDS

_PRODUCTS = st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs")), min_size=1, max_size=60)
_SIZES = st.decimals("0.001", 100_000, places=3).map(lambda size: Decimal(format(size.normalize(), "f")))


@given(_PRODUCTS, _SIZES, st.sampled_from(("m", "ml", "piece")))
def test_a_line_of_packs_names_its_product_and_pack(product: str, size: Decimal, unit: str) -> None:
    assert material_of(packs_named(product, size, unit)) == Material(product, size, unit)


@given(_PRODUCTS.filter(lambda product: material_of(product) == Material(product)))
def test_a_line_from_stock_names_its_product(product: str) -> None:
    assert material_of(stock_named(product)) == Material(product)


def test_every_operation_is_known_by_its_words() -> None:
    assert {operation_of(words) for words in OPERATION_WORDS.values()} == set(OPERATION_WORDS)
    assert operation_of("Platforms and scaffolding") is None

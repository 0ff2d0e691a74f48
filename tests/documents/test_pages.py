"""Quote, order and site pack as PDF: what stands on them, and what must not."""

import io
import re
from dataclasses import replace
from decimal import Decimal

import pytest
from pypdf import PdfReader

from api_schema.plan import Plan
from api_schema.quote import Quote
from api_schema.standard import Standard
from tests.documents import example_plan as example
from workers.documents import DocumentError, render_order, render_quote, render_site_pack
from workers.documents.texts import Texts


def reader(pdf: bytes) -> PdfReader:
    return PdfReader(io.BytesIO(pdf))


def pages(pdf: bytes) -> list[str]:
    """The words of each page, runs of space made one."""
    return [re.sub(r"\s+", " ", page.extract_text()) for page in reader(pdf).pages]


def is_of(text: str, surface: str) -> bool:
    """Whether a page is the one of that surface: room, kind and area stand after its name."""
    return re.match(rf"{surface}\s*\w[\w -]* · \w+ · [\d.]+ m²", text) is not None


def site_pack(plan: Plan = example.PLAN, standard: Standard | None = None) -> bytes:
    return render_site_pack(
        example.JOB, plan, standard or Standard(), example.PROFILE, made_at=example.MADE_AT
    )


def quoted(quote: Quote = example.QUOTE) -> bytes:
    return render_quote(quote, example.PROFILE, made_at=example.MADE_AT)


@pytest.fixture(scope="module")
def pack() -> bytes:
    return site_pack()


@pytest.fixture(scope="module")
def pack_pages(pack: bytes) -> list[str]:
    return pages(pack)


def test_a_quote_shows_customer_work_group_totals_tax_and_total() -> None:
    text = " ".join(pages(quoted()))
    for shown in (
        "Quote 2026-0001", "Example house", "Example Homes", "25 November 2026", "25 December 2026",
        "hang membrane; tape laps", "Membrane 1.5 m wide, pack of 50 m", "3 packs", "€186.99", "€488.60", "€54.05",
        "-€20.00", "€709.64", "VAT 20% on €709.64", "€141.93", "€851.57", "Payment within 30 days of completion.",
    ):  # fmt: skip
        assert shown in text, shown


def test_a_quote_hides_rules_rates_hours_and_line_prices() -> None:
    text = " ".join(pages(quoted()))
    for hidden in ("secret", "mark-up", "12.5", "1.46", "35.00", "138.00", "48.99"):
        assert hidden not in text, hidden


def test_the_groups_of_a_quote_add_up_to_its_net() -> None:
    text = " ".join(pages(quoted()))
    price = text[text.index(" Price ") : text.index(" Net ")]
    amounts = [
        Decimal(found.replace("€", "").replace(",", "")) for found in re.findall(r"-?€[\d,.]+\d", price)
    ]
    assert len(amounts) == 4
    assert sum(amounts) == example.PRICE.net


def test_a_draft_says_that_it_is_no_offer() -> None:
    assert "Draft, not an offer" in pages(quoted(replace(example.QUOTE, state="draft", issued_on=None)))[0]
    assert "Draft" not in pages(quoted())[0]


def test_figures_and_dates_follow_the_account_s_language() -> None:
    profile = replace(example.PROFILE, language="de_DE")
    text = pages(render_quote(example.QUOTE, profile, made_at=example.MADE_AT))[0].replace("\xa0", " ")
    assert "851,57 €" in text
    assert "25. November 2026" in text


def test_an_order_lists_packs_to_buy_and_leaves_out_what_stock_covers() -> None:
    text = " ".join(pages(render_order(example.ORDER, example.PROFILE, made_at=example.MADE_AT)))
    for shown in (
        "Order O-2026-0001", "Example Supplies", "2 Sample Road", "1 Sample Street", "1 December 2026", "tape-60",
        "Lap tape 60 mm", "25 m", "€14.20", "€42.60", "Total without tax €162.60",
    ):  # fmt: skip
        assert shown in text, shown
    assert "collar-cable" not in text


def test_a_long_order_repeats_its_heads_and_numbers_its_pages() -> None:
    line = example.ORDER_LINES[1]
    order = replace(example.ORDER, lines=tuple(replace(line, product=f"tape-{n}") for n in range(130)))
    texts = pages(render_order(order, example.PROFILE, made_at=example.MADE_AT))
    assert len(texts) > 2
    for number, text in enumerate(texts, start=1):
        assert f"Page {number} of {len(texts)}" in text
        assert "Per pack" in text
    joined = " ".join(texts)
    assert all(re.search(rf"tape-{n}\b", joined) for n in range(130))
    assert all("Example Airtight Ltd" in text and "O-2026-0001" in text for text in texts)


def test_a_site_pack_has_a_page_for_each_surface_with_its_pieces_in_laying_order(
    pack_pages: list[str],
) -> None:
    texts = pack_pages
    for layout in example.LAYOUTS:
        (page,) = [text for text in texts if is_of(text, layout.id)]
        at = page.index("Count off")
        for strip in layout.strips:
            for piece in strip.pieces:
                name = piece.id.rpartition("/")[2]
                row = re.search(rf"{name} {piece.cut_length_mm // 100} marks", page[at:])
                assert row, piece.id
                at += row.end()


def test_a_surface_s_page_says_what_lies_ahead_and_how_each_penetration_is_sealed(
    pack_pages: list[str],
) -> None:
    (page,) = [text for text in pack_pages if is_of(text, "living-north")]
    assert "d1 door, c1, w1 window, p1" in page
    assert "tape: 7 pieces of 150 mm round it" in page
    assert "Collar for 4 to 12 mm" in page
    assert "5200 right, 300 up" in page


def test_drawings_of_a_site_pack_are_true_to_scale(pack: bytes) -> None:
    """The outline is the thick line: its corners in the page's own units, 72 to the inch, times the scale."""
    page = next(page for page in reader(pack).pages if is_of(page.extract_text(), "living-north"))
    wide = _widest_thick_line(page.get_contents().get_data().decode("latin-1"))  # type: ignore[union-attr]
    assert wide == pytest.approx(6200 / 50, abs=0.03)


def _widest_thick_line(content: str) -> float:
    """Width in millimetres of paper of the path drawn with a line half a millimetre wide."""
    stack: list[tuple[float, ...]] = []
    matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
    line, start, widest = 0.0, 0.0, 0.0
    path: list[float] = []
    numbers: list[float] = []
    for word in content.split():
        try:
            numbers.append(float(word))
            continue
        except ValueError:
            pass
        if word == "q":
            stack.append((*matrix, line))
        elif word == "Q":
            *saved, line = stack.pop()
            matrix = tuple(saved)  # type: ignore[assignment]
        elif word == "cm":
            a, b, c, d, e, f = numbers[-6:]
            ma, mb, mc, md, me, mf = matrix
            matrix = (
                a * ma + b * mc,
                a * mb + b * md,
                c * ma + d * mc,
                c * mb + d * md,
                e * ma + f * mc + me,
                e * mb + f * md + mf,
            )
        elif word == "w":
            line = numbers[-1] * abs(matrix[0]) * 25.4 / 72
        elif word == "m":
            start = numbers[-2]  # counts only where a line follows: some moves lead nowhere
        elif word == "l":
            path += [(u * matrix[0] + matrix[4]) * 25.4 / 72 for u in (start, numbers[-2])]
        elif word in ("S", "f", "f*", "B", "B*", "n"):
            if word == "S" and path and line == pytest.approx(0.5, abs=0.01):
                widest = max(widest, max(path) - min(path))
            path = []
        numbers = []
    return widest


def test_the_cut_list_names_every_piece_once(pack_pages: list[str]) -> None:
    text = " ".join(pack_pages)
    cut_list = text[text.index("Cut list, roll by roll") : text.index("Keep for the next job")]
    for roll in example.ROLLS:
        for cut in roll.cuts:
            for piece in cut.pieces:
                assert len(re.findall(rf"\b{re.escape(piece)}\b", cut_list)) == 1, piece
    assert "(on hand)" in cut_list


def test_the_cover_says_which_roll_goes_where_and_what_to_look_at_first(pack_pages: list[str]) -> None:
    cover = pack_pages[0]
    assert re.search(r"2 Membrane 1.5 m wide, 25.0 m kitchen-ceiling \(\d+\), hip-east \(\d+\)", cover)
    assert cover.index("p1 on living-north") < cover.index("Spliced from two rolls"), (
        "warnings stand before notes"
    )


def test_the_standard_in_force_stands_with_where_each_value_comes_from(pack_pages: list[str]) -> None:
    text = " ".join(pack_pages)
    assert "Lap of neighbouring strips, at least 100 mm common practice: at least 100 mm" in text
    assert "Shortest remnant worth keeping 1,000 mm invented, please set" in text
    assert "Tape lost 5% recalled, please confirm" in text


def test_blown_in_insulation_brings_the_staples_closer() -> None:
    job = replace(example.JOB, insulation="blown_in")
    pdf = render_site_pack(job, example.PLAN, Standard(), example.PROFILE, made_at=example.MADE_AT)
    text = " ".join(pages(pdf))
    assert "a staple every 50 mm" in text
    assert "staples every 50" in text


def test_every_caution_is_printed_and_defers_to_code_instructions_and_licensed_trades(
    pack_pages: list[str],
) -> None:
    text = " ".join(pack_pages).replace("- ", "-")  # a word may be broken at its hyphen
    cautions = Texts("en_GB").lines("caution.")
    assert len(cautions) == 11
    for caution in cautions:
        assert caution in text
    assert "Follow the local code, the products' own instructions" in text
    assert "licensed trades" in text


@pytest.mark.parametrize("kind", ["quote", "order", "pack"])
def test_a_document_is_tagged_titled_and_carries_only_its_own_fonts(kind: str, pack: bytes) -> None:
    pdf, title = {
        "quote": lambda: (quoted(), "Quote 2026-0001"),
        "order": lambda: (
            render_order(example.ORDER, example.PROFILE, made_at=example.MADE_AT),
            "Order O-2026-0001",
        ),
        "pack": lambda: (pack, "Site pack PX-001"),
    }[kind]()
    document = reader(pdf)
    root = document.root_object
    assert document.metadata is not None
    assert document.metadata.title == title
    assert document.metadata.creation_date == example.MADE_AT
    assert root["/Lang"] == "en"
    assert root["/MarkInfo"]["/Marked"] == True  # type: ignore[index]  # noqa: E712 - pypdf's own kind of true
    assert re.search(b"pdf(ua|a)id", root["/Metadata"].get_object().get_data())  # type: ignore[union-attr]
    fonts = {
        font.get_object()["/BaseFont"].partition("+")[2]
        for page in document.pages
        for font in page["/Resources"].get("/Font", {}).values()
    }
    assert fonts
    assert all(name.startswith("Source-Sans-3") for name in fonts), fonts
    assert all(page.mediabox.width == pytest.approx(595.28, abs=0.1) for page in document.pages)


def test_drawings_have_words_for_those_who_do_not_see_them(pack: bytes) -> None:
    alternatives = str(reader(pack).root_object["/StructTreeRoot"])
    found: list[str] = []

    def walk(node: object) -> None:
        node = node.get_object() if hasattr(node, "get_object") else node
        if isinstance(node, dict):
            if "/Alt" in node:
                found.append(str(node["/Alt"]))
            walk(node.get("/K"))
        elif isinstance(node, list):
            for child in node:
                walk(child)

    walk(reader(pack).root_object["/StructTreeRoot"])
    assert alternatives
    assert any("Drawing of gable-west to scale with 2 strips" in words for words in found)
    assert any("Roll 1 unrolled" in words for words in found)


def test_a_time_without_its_zone_is_refused_in_words() -> None:
    with pytest.raises(DocumentError, match="time zone"):
        render_quote(example.QUOTE, example.PROFILE, made_at=example.MADE_AT.replace(tzinfo=None))

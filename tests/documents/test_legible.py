"""Every page of every kind can be read: nothing too small, nothing over its edge or over other words, no torn tables.

Least sizes are common practice: nine points for what is read on site at arm's length, seven on the desk.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import replace
from itertools import combinations, pairwise

import pytest

from api_schema.account import Profile
from api_schema.defaults import default_outputs, default_price_book, default_standard
from api_schema.order import Order
from api_schema.plan import Plan
from api_schema.pressure_test import LeakNote, OpeningDone
from api_schema.surface import Penetration
from tests.documents import example_plan as example
from tests.documents import hard_job as hard
from tests.documents.on_paper import Word, pages
from tests.documents.test_pressure_report import TEST
from workers import documents
from workers.documents.drawing.names import ranges
from workers.engine.captives import captive_costs
from workers.engine.envelope import prepare
from workers.engine.plan import plan_job
from workers.engine.pressure import analyse
from workers.engine.pressure.walk_round import walk_round
from workers.surveys import survey_of

ON_SITE = ("site_pack", "labels", "walk_round", "trade_pack", "drawing")
AT_THE_DESK = ("survey_report", "test_report", "order", "quote")
KINDS = ON_SITE + AT_THE_DESK
_HEAD_MM, _FOOT_MM = 15.0, 16.0  # of a page, where running heads and feet stand
Paper = list[tuple[float, float, list[Word]]]


def _test() -> bytes:
    leak = LeakNote("services-wall", "air at the tape's end", "p1", (5200, 300), note="press down again")
    test = replace(
        TEST,
        reference="PT-2026-0044-THIRD-TEST-OF-HOUSE-C",
        leaks=(leak,) * 18,
        openings=tuple(OpeningDone(f"Opening {n}, with words about where it is in the house", "sealed") for n in range(14)),
    )  # fmt: skip
    return documents.render_test_report(test, analyse(test), hard.PROFILE, made_at=example.MADE_AT)


def _order() -> bytes:
    lines = tuple(
        replace(example.ORDER_LINES[1], product=f"tape-for-porous-ground-{n}", name=f"Lap tape {n} mm, reinforced, for rough and porous ground")
        for n in range(45)
    )  # fmt: skip
    order: Order = replace(
        example.ORDER, lines=lines, reference=hard.JOB.reference, deliver_to=hard.JOB.customer.address
    )
    return documents.render_order(order, hard.PROFILE, made_at=example.MADE_AT)


def _quote() -> bytes:
    quote = replace(
        example.QUOTE, title=hard.JOB.title, customer=hard.JOB.customer, reference=hard.JOB.reference
    )
    return documents.render_quote(quote, hard.PROFILE, made_at=example.MADE_AT)


@pytest.fixture(scope="module")
def plan() -> Plan:
    return plan_job(hard.JOB, default_standard(), default_outputs(), default_price_book())


@pytest.fixture(scope="module")
def papers(plan: Plan) -> dict[str, Paper]:
    job, book, standard = prepare(hard.JOB), default_price_book(), default_standard()
    who: Profile = hard.PROFILE
    at: datetime.datetime = example.MADE_AT
    captives = captive_costs(job, plan.take_off, default_outputs(), book)
    surface, layout = job.surfaces[0], plan.layout.surfaces[0]
    drawn = documents.draw_surface(surface, layout, plan.take_off.penetrations, standard, 100)
    makers: dict[str, Callable[[], bytes]] = {
        "site_pack": lambda: documents.render_site_pack(job, plan, standard, who, made_at=at, job_page="https://office.example.com/j"),
        "labels": lambda: documents.render_cut_labels(job, plan, who, made_at=at),
        "walk_round": lambda: documents.render_walk_round(walk_round(job, plan.take_off, plan.layout), who, made_at=at),
        "trade_pack": lambda: documents.render_trade_pack(job, plan, captives, book, who, made_at=at),
        "drawing": lambda: documents.render_drawing(drawn, surface.id, job, plan, who, revision=1, made_at=at),
        "survey_report": lambda: documents.render_survey_report(survey_of(job, job), job.reference, job.title, who, made_at=at),
        "test_report": _test,
        "order": _order,
        "quote": _quote,
    }  # fmt: skip
    return {kind: pages(make()) for kind, make in makers.items()}


@pytest.mark.parametrize("kind", KINDS)
def test_nothing_is_smaller_than_it_can_be_read(kind: str, papers: dict[str, Paper]) -> None:
    least = 9.0 if kind in ON_SITE else 7.0
    small = {
        (word.text, round(word.size, 2))
        for *_, words in papers[kind]
        for word in words
        if word.size < least - 0.02
    }
    assert not small


@pytest.mark.parametrize("kind", KINDS)
def test_no_words_run_over_the_edge_of_the_page(kind: str, papers: dict[str, Paper]) -> None:
    for wide, high, words in papers[kind]:
        for word in words:
            assert 3 < word.left < word.right < wide - 3, word
            assert 3 < word.top < word.bottom < high - 3, word


@pytest.mark.parametrize("kind", KINDS)
def test_no_words_lie_on_others(kind: str, papers: dict[str, Paper]) -> None:
    for *_, words in papers[kind]:
        level = [word for word in words if word.level]
        on_others = [(one.text, other.text) for one, other in combinations(level, 2) if one.overlaps(other)]
        assert not on_others


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind not in ("labels", "drawing")])
def test_no_heading_stands_alone_at_the_foot_of_a_page(kind: str, papers: dict[str, Paper]) -> None:
    lines = [_lines(high, words) for _, high, words in papers[kind]]
    for number, (here, after) in enumerate(pairwise(lines), start=1):
        assert not _is_heading(here[-1]), (number, here[-1])
        table_begins_overleaf = all(word.bold for word in after[0])
        said_below_it = _is_heading(here[-2])
        assert not (said_below_it and table_begins_overleaf), (number, here[-2:])


def _lines(high: float, words: list[Word]) -> list[list[Word]]:
    """The words of a page line by line from above, without its running head and foot."""
    within = [word for word in words if word.top > _HEAD_MM and word.bottom < high - _FOOT_MM and word.level]
    lines: list[list[Word]] = []
    for word in sorted(within, key=lambda word: word.bottom):
        if lines and word.bottom - lines[-1][-1].bottom < 1.0:
            lines[-1].append(word)
        else:
            lines.append([word])
    return lines


def _is_heading(line: list[Word]) -> bool:
    return all(word.bold and word.size > 10.9 for word in line)


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind not in ("labels", "drawing")])
def test_no_page_is_opened_for_a_line_or_two(kind: str, papers: dict[str, Paper]) -> None:
    for number, (_, high, words) in enumerate(papers[kind], start=1):
        lines = {
            round(word.bottom) for word in words if word.top > _HEAD_MM and word.bottom < high - _FOOT_MM
        }
        assert len(lines) >= 3, (number, [word.text for word in words])


def test_what_stands_on_a_label_stays_on_it(papers: dict[str, Paper], plan: Plan) -> None:
    wide, high = 70.0, 36.9
    said = [word for *_, words in papers["labels"] for word in words]
    for word in said:
        assert word.left // wide == word.right // wide, word
        assert word.top // high == word.bottom // high, word
    pieces = [piece for roll in plan.cut_list.rolls for cut in roll.cuts for piece in cut.pieces]
    assert "".join(word.text for word in said).count("ADDENDUM-04") == len(pieces)


def test_a_long_surface_lies_across_its_page(papers: dict[str, Paper]) -> None:
    (page,) = [
        page
        for page in papers["site_pack"]
        if any(word.text == "hall-long-north" and word.size > 20 for word in page[2])
    ]
    assert page[0] > page[1]
    assert sum(page[0] > page[1] for page in papers["site_pack"]) < len(papers["site_pack"]) / 2


def test_every_surface_with_penetrations_shows_where_places_are_counted_from(plan: Plan) -> None:
    for surface, layout in zip(hard.JOB.surfaces, plan.layout.surfaces, strict=True):
        svg = documents.draw_surface(surface, layout, (), default_standard(), 100).decode()
        assert (">zero<" in svg) == bool(surface.penetrations)
        assert "seen from inside the room" in svg


def test_things_alike_and_close_together_share_one_name(plan: Plan) -> None:
    at = [layout.id for layout in plan.layout.surfaces].index("riser-wall")
    riser = hard.JOB.surfaces[at]
    svg = documents.draw_surface(
        riser, plan.layout.surfaces[at], plan.take_off.penetrations, default_standard(), 100
    )
    assert ">c1–c40 Ø9<" in svg.decode()
    apart = replace(
        riser, penetrations=(*riser.penetrations, Penetration("p1", "pipe", (2000, 2200), diameter_mm=50))
    )
    assert (
        ">p1 Ø50<"
        in documents.draw_surface(apart, plan.layout.surfaces[at], (), default_standard(), 100).decode()
    )


@pytest.mark.parametrize(
    ("names", "said"),
    [
        (["c1"], "c1"),
        (["c1", "c2", "c3", "c7"], "c1–c3, c7"),
        (["c9", "c10", "p11"], "c9–c10, p11"),
        (["tap", "sink"], "tap, sink"),
        (["a1", "b1", "c1", "d1"], "a1 … d1"),
    ],
)
def test_names_in_a_row_are_written_as_a_range(names: list[str], said: str) -> None:
    assert ranges(names) == said

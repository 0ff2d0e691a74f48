import dataclasses
import datetime
import io
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as some
from lxml import etree
from pypdf import PdfReader

from api_schema.account import Profile
from api_schema.job import Target
from api_schema.pressure_test import (
    BuildingSize,
    DirectionReadings,
    LeakNote,
    OpeningDone,
    PreparationStep,
    PressureTestInput,
    Reading,
)
from api_schema.standard import Standard
from api_schema.walk_round import WalkItem, WalkRound, WalkSurface
from tests.documents import example_plan
from workers.documents import (
    draw_pressure_plot,
    draw_residuals,
    draw_surface,
    render_test_report,
    render_walk_round,
)
from workers.documents.pressure_plot import flow_ticks
from workers.engine.pressure import analyse

MADE_AT = datetime.datetime(2026, 11, 25, 9, 30, tzinfo=datetime.UTC)
PROFILE = Profile("Example Airtight Ltd", address=("3 Sample Yard",))
OUT = {-62.1: 512, -50.9: 449, -40.0: 383, -29.3: 311, -18.7: 229, -11.4: 163}
IN = {61.0: 513, 49.6: 447, 38.9: 381, 28.2: 309, 17.6: 227, 10.3: 161}
SVG = "{http://www.w3.org/2000/svg}"


def way(direction, steps):
    return DirectionReadings(
        direction, tuple(Reading(*step) for step in steps.items()), (-1.2,), 21.0, 5.0, zero_flow_after_pa=(-0.8,)
    )  # fmt: skip


TEST = PressureTestInput(
    reference="PT-007",
    directions=(way("depressurisation", OUT), way("pressurisation", IN)),
    building=BuildingSize(412.0, 386.0, 164.0, 6.4),
    target=Target(n50_per_h=Decimal("1.5")),
    wind_m_s=2.0,
    openings=(OpeningDone("Kitchen extract hood", "sealed", "film and tape outside"),),
    steps=(PreparationStep("Inner doors open", False, "one is missing"),),
    leaks=(LeakNote("living-north", "air under the tape", "p1", sealed=True),),
    notes="Rear door boarded.\nSecond line.",
)
RESULT = analyse(TEST)


def read(pdf):
    text = "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)
    return " ".join(text.split())


def report(test=TEST, profile=PROFILE):
    return render_test_report(test, analyse(test), profile, made_at=MADE_AT)


def test_the_report_shows_result_interval_readings_sealing_leaks_and_cautions():
    pdf = report()
    assert pdf == report()  # the same test gives the same bytes
    words = read(pdf)
    n50 = RESULT.figures.n50_per_h
    for said in (
        f"{n50.value:.2f} 1/h", f"{n50.low:.3f} to {n50.high:.3f}", "Target met.", "Every condition of a valid test",
        "−62.1", "513.0", "Kitchen extract hood sealed film and tape outside", "not done", "air under the tape",
        "combustion appliances are off", "Second line.", "Page 1 of",
    ):  # fmt: skip
        assert said in words


def test_the_report_calls_its_job_as_people_do():
    of_a_job = dataclasses.replace(TEST, job="job_3f9c")
    words = read(render_test_report(of_a_job, RESULT, PROFILE, made_at=MADE_AT, job_reference="PX-014"))
    assert "Job PX-014" in words
    assert "job_3f9c" not in words


def test_cautions_stand_on_the_first_page():
    first = PdfReader(io.BytesIO(report())).pages[0].extract_text()
    assert "combustion appliances are off" in " ".join(first.split())


def test_a_test_that_fails_its_conditions_says_so_before_the_figures():
    spoilt = dataclasses.replace(
        TEST.directions[0], readings=(*TEST.directions[0].readings, Reading(-35.0, 34.9))
    )
    words = read(report(dataclasses.replace(TEST, directions=(spoilt,))))
    assert words.index("is not met" if "is not met" in words else "that are not met") < words.index("Figures")
    assert "ten times too small" in words
    assert "stands apart" in words
    assert "read this with the checks" in words


def test_what_was_not_noted_is_said_and_not_left_out():
    bare = PressureTestInput("PT-008", (TEST.directions[0],))
    words = read(report(bare))
    for said in ("Depressurisation only", "not given", "Nothing was noted", "101 325 Pa taken"):
        assert said in words


def test_words_of_the_users_are_never_markup():
    rude = dataclasses.replace(
        TEST, reference="<b>PT</b>", notes="<img src=http://example.com/x.png> & more", tester="{{ 7*7 }}"
    )
    words = read(report(rude))
    assert "<b>PT</b>" in words
    assert "<img src=http://example.com/x.png> & more" in words
    assert "{{ 7*7 }}" in words


@pytest.mark.parametrize("language", ["de_DE", "xx"])
def test_any_language_of_an_account_gives_a_report(language):
    words = read(report(profile=dataclasses.replace(PROFILE, language=language)))
    assert ("1,05" if language == "de_DE" else "1.05") in words


def test_the_numbers_in_a_sentence_are_written_as_the_language_does():
    said = RESULT.checks[-1].said  # how far both directions differ
    percent = next(part.value for part in said.parts if part.name == "percent")
    assert f"differ by {percent} % at 50 Pa" in read(report())
    german = read(report(profile=dataclasses.replace(PROFILE, language="de_DE")))
    assert f"differ by {percent.replace('.', ',')} % at 50 Pa" in german


def test_a_result_kept_in_words_alone_is_printed_as_it_was_kept():
    bare = dataclasses.replace(
        RESULT,
        checks=tuple(dataclasses.replace(check, said=None) for check in RESULT.checks),
        target=dataclasses.replace(RESULT.target, said=None),
        method_said=None,
        interval_said=None,
    )
    assert render_test_report(TEST, bare, PROFILE, made_at=MADE_AT) == report()


def test_a_hundred_readings_fit():
    many = dataclasses.replace(
        TEST.directions[0],
        readings=tuple(Reading(-10.0 - step / 2, 40.0 * (9.0 + step / 2) ** 0.65) for step in range(100)),
    )
    assert len(PdfReader(io.BytesIO(report(dataclasses.replace(TEST, directions=(many,))))).pages) < 12


def marks(svg, tag):
    return list(etree.fromstring(svg).iter(SVG + tag))


def test_the_plot_has_a_mark_for_every_reading_and_a_ring_round_a_stray():
    plain = len(marks(draw_pressure_plot(RESULT), "circle"))
    assert plain == len(OUT) + 1  # one more in the legend; pressurisation has squares
    steps = list(TEST.directions[0].readings)
    steps[3] = Reading(steps[3].pressure_pa, steps[3].flow_m3_h / 10)
    stray = dataclasses.replace(TEST.directions[0], readings=tuple(steps))
    result = analyse(
        dataclasses.replace(TEST, directions=(stray, TEST.directions[1]), method="flow_weighted")
    )
    assert len(marks(draw_pressure_plot(result), "circle")) == plain + 1
    assert any("−" in text.text and "%" in text.text for text in marks(draw_residuals(result), "text"))


@given(low=some.floats(0.1, 1e5), times=some.floats(1.3, 1000))
def test_the_flow_axis_always_has_a_few_round_figures(low, times):
    ticks = flow_ticks(low, low * times)
    assert 2 <= len(ticks) <= 16
    assert all(low * 0.99 <= tick <= low * times * 1.01 for tick in ticks)
    assert list(ticks) == sorted(set(ticks))


def test_leaks_stand_on_the_drawing_of_their_surface_with_the_reports_numbers():
    leaks = (
        LeakNote("elsewhere", "not here", at_mm=(10, 10)),
        LeakNote("living-north", "at the pipe", "p1"),
        LeakNote("living-north", "nobody knows where"),
        LeakNote("living-north", "at the sill", "w1", (3600, 900), sealed=True),
    )

    def drawn(leaks):
        svg = draw_surface(
            example_plan.WALL, example_plan.WALL_LAYOUT, example_plan.SEALINGS, Standard(), 100, leaks=leaks
        )
        return [text.text for text in marks(svg, "text")]

    without = drawn(())
    extra = [words for words in drawn(leaks) if words not in without]
    assert {"4", "leak found, numbered as in the report", "leak sealed since"} <= {*extra}
    assert "3" not in extra


def test_the_walk_round_has_two_boxes_for_every_line():
    items = tuple(WalkItem("penetration", f"p{number}: pipe", "tape pressed down") for number in range(70))
    walk = WalkRound(
        "PX-014", "Plot 14", (WalkItem("face", "Wind", "not strong"),), (WalkSurface("north", "hall", items),)
    )
    pdf = render_walk_round(walk, PROFILE, made_at=MADE_AT)
    words = read(pdf)
    assert all(item.what in words for item in items)
    assert "Follow the local code" in words
    assert pdf == render_walk_round(walk, PROFILE, made_at=MADE_AT)

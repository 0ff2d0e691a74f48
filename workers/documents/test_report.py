"""The report of a fan test as a PDF: result, plots, readings, checks, what was sealed, leaks, method, cautions."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any

from markupsafe import Markup, escape

from api_schema.account import Profile
from api_schema.measured import Estimate
from api_schema.pressure_result import DirectionResult, Figures, PressureTestResult
from api_schema.pressure_test import DirectionReadings, LeakNote, PressureTestInput
from api_schema.said import Said
from workers.documents.formats import Formats
from workers.documents.letterhead import PLAIN, Letterhead
from workers.documents.pages import in_tables, page
from workers.documents.pressure_plot import draw_pressure_plot, draw_residuals
from workers.documents.renderer import to_pdf
from workers.documents.texts import Texts

_FIGURES = (
    "n50_per_h", "q50_m3_h_m2", "w50_m3_h_m2", "flow_50_m3_h", "ela_4_cm2", "ela_10_cm2", "eqla_10_cm2",
)  # fmt: skip
_HEADLINE = ("n50_per_h", "q50_m3_h_m2", "flow_50_m3_h", "eqla_10_cm2")


_LOWERED, _RAISED = re.compile(r"_([A-Za-z]+)"), re.compile(r"\^(\([^)]*\)|½)")


def formula(words: str) -> Markup:
    """Words of the catalogue with C_D, x^(n−1) and the like set as indices and powers."""
    lowered = _LOWERED.sub(r'<span class="lowered">\1</span>', str(escape(words)))
    return Markup(_RAISED.sub(lambda found: f'<span class="raised">{found[1].strip("()")}</span>', lowered))  # noqa: S704 - escaped above


class _Words:
    """Texts and numbers of one language."""

    def __init__(self, profile: Profile) -> None:
        self.t = Texts(profile.language)
        self.formats = Formats(profile.language)

    def sentence(self, said: Said | None, otherwise: str) -> str:
        """What the analysis says, in this language; `otherwise` for a result kept in words alone."""
        return self.t.sentence(said, self.formats, otherwise)

    def figure(self, value: float, digits: int = 4) -> str:
        """A measured value to so many significant digits."""
        exact = Decimal(repr(value))
        places = max(0, digits - 1 - exact.adjusted()) if exact else 0
        return self.formats.number(exact, min(places, 6)).replace("-", "−")

    def places(self, value: float, places: int) -> str:
        """A measured value to so many decimal places."""
        return self.formats.number(Decimal(repr(value)), places).replace("-", "−")

    def interval(self, of: Estimate, key: str = "test.range") -> str:
        """An interval written as its two ends."""
        return self.t(key, low=self.figure(of.low), high=self.figure(of.high))

    def whole(self, of: Estimate) -> str:
        """An estimate with its interval behind it."""
        return self.t("test.with_half", value=self.figure(of.value, 5), low=self.figure(of.low, 5), high=self.figure(of.high, 5))  # fmt: skip


def render_test_report(
    test: PressureTestInput, result: PressureTestResult, profile: Profile, *, made_at: datetime.datetime,
    letterhead: Letterhead = PLAIN, job_reference: str = "",
) -> bytes:  # fmt: skip
    """The report as PDF, A4; the same input gives the same bytes. Raises `DocumentError`.

    `job_reference` is what people call the job that the test names by its id; it stands in the id's place.
    """
    texts = Texts(profile.language)
    test = replace(test, job=job_reference) if job_reference else test
    html = page(
        "test_report.html",
        title=f"{texts('test.title')} {test.reference}",
        reference=" · ".join(filter(None, (test.job, test.reference))),
        profile=profile,
        made_at=made_at,
        letterhead=letterhead,
        **_content(test, result, profile),
    )
    drawings = {
        "plot.svg": draw_pressure_plot(result, language=profile.language),
        "residuals.svg": draw_residuals(result, language=profile.language),
    }
    return to_pdf(html, {**drawings, **letterhead.assets}, made_at)


def _content(test: PressureTestInput, result: PressureTestResult, profile: Profile) -> dict[str, Any]:
    """Everything the template shows, already in words."""
    words = _Words(profile)
    t = words.t
    ways = [t(f"test.direction.{way.direction}") for way in result.directions]
    return {
        "heading": test.reference,
        "lead": t("test.lead.mean" if result.is_mean else f"test.lead.{result.directions[0].direction}"),
        "headline": list(_headline(result.figures, words)),
        "target": _target(result, words),
        "valid": result.valid,
        "failures": [words.sentence(check.said, check.message) for check in result.checks if check.level == "not_met"],
        "doubts": [words.sentence(check.said, check.message) for check in result.checks if check.level == "watch"],
        "ways": ways,
        "is_mean": result.is_mean,
        "figures": list(_figure_rows(result, words)),
        "interval_words": words.sentence(result.interval_said, result.interval_words),
        "particulars": _pairs(list(_particulars(test, words))),
        "fit": list(_fit_rows(test, result, words)),
        "readings": [
            _reading_table(readings, way, words)
            for readings, way in zip(test.directions, result.directions, strict=True)
        ],
        "checks": [
            {
                "level": t(f"test.level.{check.level}"),
                "bad": check.level in ("not_met", "watch"),
                "direction": t(f"test.direction.{check.direction}") if check.direction else t("test.checks.whole"),
                "message": words.sentence(check.said, check.message),
            }
            for check in result.checks
        ],
        "openings": list(in_tables([(each.what, t(f"test.state.{each.state}"), each.note) for each in test.openings])),
        "steps": list(
            in_tables([(each.step, t("test.done" if each.done else "test.not_done"), each.note) for each in test.steps])
        ),
        "leaks": list(in_tables([_leak(number, leak, words) for number, leak in enumerate(test.leaks, start=1)])),
        "notes": [line for line in test.notes.splitlines() if line.strip()],
        "method_words": words.sentence(result.method_said, result.method_words),
        "equations": [formula(line) for line in t.lines(f"test.equation.{result.method}.")],
        "cautions": t.lines("test.caution."),
    }  # fmt: skip


def _headline(figures: Figures, words: _Words) -> Iterator[tuple[str, str, str]]:
    for name in _HEADLINE:
        found: Estimate | None = getattr(figures, name)
        if found is not None:
            unit = words.t(f"test.unit.{name}")
            yield (
                f"{words.figure(found.value, 3)} {unit}",
                words.t(f"test.headline.{name}"),
                words.interval(found, "test.interval"),
            )


def _target(result: PressureTestResult, words: _Words) -> dict[str, str] | None:
    if result.target is None:
        return None
    return {
        "finding": words.t(f"test.target.{result.target.finding}"),
        "words": words.sentence(result.target.said, result.target.words),
        "mark": "says" if result.target.finding == "met" else "warn",
    }


def _figure_rows(result: PressureTestResult, words: _Words) -> Iterator[dict[str, Any]]:
    columns = [way.figures for way in result.directions]
    if result.is_mean:
        columns.append(result.figures)
    for name in _FIGURES:
        final: Estimate | None = getattr(result.figures, name)
        if final is not None:
            yield {
                "name": formula(words.t(f"test.figure.{name}")),
                "unit": words.t(f"test.unit.{name}"),
                "cells": [words.figure(getattr(column, name).value) for column in columns],
                "interval": words.interval(final),
            }


def _particulars(test: PressureTestInput, words: _Words) -> Iterator[tuple[str, str]]:
    t = words.t
    building = test.building
    noted, given = t("test.fact.not_noted"), t("test.fact.not_given")
    yield t("test.fact.tested_on"), words.formats.date(test.tested_on) if test.tested_on else noted
    yield t("test.fact.volume"), f"{words.figure(building.volume_m3)} m³" if building.volume_m3 else given
    yield t("test.fact.tester"), test.tester or noted
    yield (
        t("test.fact.envelope"),
        (f"{words.figure(building.envelope_area_m2)} m²" if building.envelope_area_m2 else given),
    )
    yield t("test.fact.instruments"), test.instruments or noted
    yield t("test.fact.floor"), f"{words.figure(building.floor_area_m2)} m²" if building.floor_area_m2 else given  # fmt: skip
    yield t("test.fact.preparation"), t(f"test.preparation.{test.preparation}")
    yield t("test.fact.height"), f"{words.figure(building.height_m, 3)} m" if building.height_m else given
    yield (
        t("test.fact.barometer"),
        (f"{words.places(test.barometer_pa, 0)} Pa" if test.barometer_pa else t("test.fact.barometer_taken")),
    )
    yield t("test.fact.wind"), f"{words.places(test.wind_m_s, 1)} m/s" if test.wind_m_s is not None else noted
    if test.job:
        yield t("test.fact.job"), test.job


def _pairs(rows: list[tuple[str, str]]) -> list[tuple[tuple[str, str], tuple[str, str] | None]]:
    return [(rows[at], rows[at + 1] if at + 1 < len(rows) else None) for at in range(0, len(rows), 2)]


def _fit_rows(
    test: PressureTestInput, result: PressureTestResult, words: _Words
) -> Iterator[tuple[Markup | str, list[str]]]:
    t, ways = words.t, result.directions
    yield t("test.fit.n"), [words.whole(way.n) for way in ways]
    yield formula(t("test.fit.c_env")), [words.whole(way.c_env_m3_h_pa_n) for way in ways]
    yield formula(t("test.fit.c_l")), [words.whole(way.c_l_m3_h_pa_n) for way in ways]
    viscous = [way.c_standard_air_m3_h_pa_n for way in ways if way.c_standard_air_m3_h_pa_n is not None]
    if viscous:
        yield t("test.fit.c_standard"), [words.figure(value, 5) for value in viscous]
    yield t("test.fit.r_squared"), [words.places(way.r_squared, 5) for way in ways]
    if result.method != "iso_9972":
        yield t("test.fit.r_squared_plain"), [words.places(way.r_squared_plain, 5) for way in ways]
    yield t("test.fit.student"), [
        t("test.fit.student_of", t=words.places(way.student_t, 3), degrees=way.degrees_of_freedom) for way in ways
    ]  # fmt: skip
    yield t("test.fit.zero_flow"), [words.places(way.zero_flow_pa, 2) for way in ways]
    yield (
        t("test.fit.temperatures"),
        [f"{words.places(way.indoor_c, 1)} / {words.places(way.outdoor_c, 1)}" for way in test.directions],
    )


def _reading_table(readings: DirectionReadings, way: DirectionResult, words: _Words) -> dict[str, Any]:
    t = words.t

    def joined(values: Sequence[float]) -> str:
        return "; ".join(words.places(value, 1) for value in values) or t("test.readings.none")

    return {
        "heading": t("test.readings", direction=t(f"test.direction.{way.direction}").lower()),
        "zero": t(
            "test.readings.zero",
            before=joined(readings.zero_flow_before_pa),
            after=joined(readings.zero_flow_after_pa),
            indoor=words.places(readings.indoor_c, 1),
            outdoor=words.places(readings.outdoor_c, 1),
        ),
        "rows": [
            {
                "cells": [
                    str(point.reading),
                    words.places(read.pressure_pa, 1),
                    words.figure(read.flow_m3_h),
                    words.places(point.induced_pa, 1),
                    words.figure(point.flow_m3_h),
                    words.figure(point.line_m3_h),
                    words.places(100 * (point.flow_m3_h / point.line_m3_h - 1), 2),
                ],
                "apart": t("test.apart") if point.outlier else "",
            }
            for read, point in zip(readings.readings, way.points, strict=True)
        ],
    }


def _leak(number: int, leak: LeakNote, words: _Words) -> dict[str, str | bool]:
    t = words.t
    at = "" if leak.at_mm is None else t("test.leak.at", right=leak.at_mm[0], up=leak.at_mm[1])
    return {
        "number": str(number),
        "where": " · ".join(filter(None, (leak.surface, leak.detail, at))),
        "what": leak.what,
        "note": leak.note,
        "found_by": t(f"test.found_by.{leak.found_by}"),
        "strength": t(f"test.strength.{leak.strength}"),
        "is_open": not leak.sealed,
        "since": t("test.leak.sealed" if leak.sealed else "test.leak.open"),
    }

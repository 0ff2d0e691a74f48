"""What an account's own settings make impossible ends the plan in words, and is never an error of ours."""

import dataclasses
from collections.abc import Callable
from decimal import Decimal

import pytest

from api_schema.defaults import default_outputs, default_price_book, default_standard
from api_schema.job import Job
from api_schema.outputs import Condition, Outputs
from api_schema.price_book import Pack, PriceBook
from api_schema.problem import SurveyFaults
from api_schema.shape import load
from api_schema.standard import Standard
from service.api.examples import JOB
from workers.engine.plan import plan_job

Settings = tuple[Standard, Outputs, PriceBook]


def without_taping(settings: Settings) -> Settings:
    standard, outputs, book = settings
    kept = tuple(one for one in outputs.operations if one.operation != "tape_lap")
    return standard, dataclasses.replace(outputs, operations=kept), book


def laps_by_the_piece(settings: Settings) -> Settings:
    standard, outputs, book = settings
    operations = tuple(
        dataclasses.replace(one, unit="piece") if one.operation == "tape_lap" else one
        for one in outputs.operations
    )
    return standard, dataclasses.replace(outputs, operations=operations), book


def a_band_in_feet(settings: Settings) -> Settings:
    standard, outputs, book = settings
    band = Condition("high", "height", "over_8_ft", Decimal("1.2"))
    return standard, dataclasses.replace(outputs, conditions=(band,)), book


def tape_no_wider_than_its_overlap(settings: Settings) -> Settings:
    standard, outputs, book = settings
    return dataclasses.replace(standard, captive_tape_overlap_mm=500), outputs, book


def tape_by_the_millimetre(settings: Settings) -> Settings:
    standard, outputs, book = settings
    products = tuple(
        dataclasses.replace(one, packs=(Pack(Decimal("0.001"), Decimal("0.01")),))
        if one.kind in ("lap_tape", "frame_tape")
        else one
        for one in book.products
    )
    return standard, outputs, dataclasses.replace(book, products=products)


def no_membrane(settings: Settings) -> Settings:
    standard, outputs, book = settings
    products = tuple(one for one in book.products if one.kind != "membrane")
    return standard, outputs, dataclasses.replace(book, products=products)


@pytest.mark.parametrize(
    ("spoil", "setting", "word"),
    [
        (without_taping, "outputs", "tape_lap"),
        (laps_by_the_piece, "outputs", "piece"),
        (a_band_in_feet, "outputs", "over_8_ft"),
        (tape_no_wider_than_its_overlap, "standard", "captive_tape_overlap_mm"),
        (tape_by_the_millimetre, "price book", "5000 packs"),
        (no_membrane, "price book", "membrane"),
    ],
)
def test_what_a_setting_makes_impossible_is_said_in_words(
    spoil: Callable[[Settings], Settings], setting: str, word: str
) -> None:
    settings = spoil((default_standard(), default_outputs(), default_price_book()))
    with pytest.raises(SurveyFaults) as refused:
        plan_job(load(Job, JOB), *settings)
    (fault,) = refused.value.faults
    assert setting in fault.detail
    assert word in fault.detail

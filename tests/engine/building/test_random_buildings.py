"""Whatever is described, the survey closes or is refused in words."""

import collections
import os
import random

from api_schema.problem import SurveyFaults
from tests.engine.building.buildings import building, random_building
from tests.engine.building.closed import assert_closed
from workers.engine.building import derive

BUILDINGS = int(os.environ.get("LAPWISE_RANDOM_BUILDINGS", "80"))  # 1000 and more were run by hand


def test_every_random_building_closes_or_is_refused_with_a_pointer() -> None:
    said: collections.Counter[str] = collections.Counter()
    for seed in range(BUILDINGS):
        description = random_building(random.Random(seed))
        try:
            survey = derive(building(**description))
        except SurveyFaults as refusal:
            said[
                "refused" if refusal.faults[0].pointer.startswith("/storeys/") else "refused at no place"
            ] += 1
            continue
        try:
            assert_closed(survey)
        except AssertionError as error:
            raise AssertionError(f"building {seed}: {description}") from error
        said["closed"] += 1
    print(dict(said))
    assert said["closed"] > 0.9 * BUILDINGS
    assert said["refused at no place"] == 0

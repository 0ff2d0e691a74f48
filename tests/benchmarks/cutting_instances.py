"""Cutting tasks to measure on: the published sets, and more of the same kinds from fixed seeds."""

import json
import random
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from workers.engine.cutting import PieceToCut, Stock

DATA = Path(__file__).parents[1] / "published" / "data" / "cutting"
ROLL = (Stock("m", 50_000, 1500, Decimal(120)),)


@dataclass(frozen=True)
class Task:
    """Pieces as (length, width), stock, and the best cost known where one is."""

    name: str
    sizes: tuple[tuple[int, int], ...]
    stock: tuple[Stock, ...]
    optimum: Decimal | None = None

    @property
    def pieces(self) -> tuple[PieceToCut, ...]:
        return tuple(PieceToCut(f"p{i}", f"s{i // 4}", "m", *size, i) for i, size in enumerate(self.sizes))

    @property
    def one_abreast(self) -> bool:
        return len({width for _, width in self.sizes}) == 1


def published(name: str) -> list[Task]:
    """One file of the published sets; all widths 1500 where the set has lengths only."""
    tasks = []
    for one in json.loads((DATA / f"{name}.json").read_text(encoding="utf-8"))["instances"]:
        room = one["capacity"]
        length, width = room if isinstance(room, list) else (room, 1500)
        sizes = tuple(
            tuple(item["size"]) if isinstance(item["size"], list) else (item["size"], 1500)
            for item in one["items"]
            for _ in range(item["demand"])
        )
        best = None if one["optimum"] is None else Decimal(one["optimum"])
        tasks.append(Task(one["name"], sizes, (Stock("m", length, width, Decimal(1)),), best))
    return tasks


def _plain(name: str, lengths: list[int], optimum: int | None = None) -> Task:
    return Task(
        name, tuple((one, 1500) for one in lengths), ROLL, None if optimum is None else Decimal(120 * optimum)
    )


def trade(seed: int) -> Task:
    """40 to 200 pieces, all lengths different or few lengths repeated."""
    dice = random.Random(seed)
    count = dice.choice([40, 80, 120, 160, 200])
    if seed % 2:
        return _plain(f"distinct-{seed}", [dice.randint(2000, 12_000) for _ in range(count)])
    kinds = [dice.randrange(2000, 12_000, dice.choice([1, 5, 100])) for _ in range(dice.randint(2, 12))]
    return _plain(f"repeated-{seed}", [dice.choice(kinds) for _ in range(count)])


def tight(seed: int) -> Task:
    """Whole rolls cut without waste."""
    dice = random.Random(seed)
    rolls, lengths = dice.randint(4, 28), []
    for _ in range(rolls):
        left = 50_000
        while left > 14_000:
            lengths.append(dice.randint(2000, 12_000))
            left -= lengths[-1]
        lengths.extend([left] if left <= 12_000 else [left // 2, left - left // 2])
    dice.shuffle(lengths)
    return _plain(f"tight-{seed}", lengths, rolls)


def several_rolls(seed: int) -> Task:
    """50 m rolls at 500, 25 m rolls at 260, two to eight offcuts."""
    dice = random.Random(seed)
    count = dice.choice([40, 80, 160, 240, 400])
    kinds = [dice.randint(1000, 12_000) for _ in range(count if seed % 2 else dice.randint(4, 12))]
    offcuts = tuple(
        Stock("m", dice.randint(2000, 20_000), 1500, Decimal(0), 1, "offcut")
        for _ in range(dice.randint(2, 8))
    )
    stock = (Stock("m", 50_000, 1500, Decimal(500)), Stock("m", 25_000, 1500, Decimal(260)), *offcuts)
    return Task(f"several-{seed}", tuple((dice.choice(kinds), 1500) for _ in range(count)), stock)


def planted_abreast(seed: int) -> Task:
    """Whole rolls cut without waste into sections and lanes."""
    dice = random.Random(seed)
    rolls, sizes = dice.choice([2, 6, 10]), []
    for _ in range(rolls):
        left = 50_000
        while left:
            length = min(left, dice.randrange(600, 6000, 10))
            left -= length
            at = 0
            for cut_at in [*sorted(dice.sample(range(100, 1500, 50), dice.choice([0, 1, 2, 3]))), 1500]:
                sizes.append((length, cut_at - at))
                at = cut_at
    return Task(f"planted-{seed}", tuple(sizes), ROLL, Decimal(120 * rolls))


def random_abreast(seed: int) -> Task:
    """Six pieces in ten at full width, the others narrow."""
    dice = random.Random(seed)
    sizes = []
    for _ in range(dice.choice([40, 120])):
        if dice.random() < 0.6:
            sizes.append((dice.randrange(2000, 9010, 10), 1500))
        else:
            width = dice.choice([150, 200, 250, 300, 400, 500, 600, 750, 900, 1000])
            sizes.append((dice.randrange(500, 6010, 10), width))
    return Task(f"random-{seed}", tuple(sizes), ROLL)


def uniform(seed: int) -> Task:
    """Falkenauer's uniform class: sizes 20 to 100 into 150."""
    dice = random.Random(seed)
    count = dice.choice([120, 250, 500, 1000])
    sizes = tuple((dice.randint(20, 100), 1500) for _ in range(count))
    return Task(f"uniform-{seed}", sizes, (Stock("m", 150, 1500, Decimal(1)),))


def triplets(count: int, seed: int) -> Task:
    """Falkenauer's triplet class: three sizes fill 1000 exactly; scaled to whole numbers."""
    dice = random.Random(seed)
    sizes: list[tuple[int, int]] = []
    for _ in range(count // 3):
        first = dice.randint(380, 490)
        second = dice.randint(250, (1000 - first) // 2)
        sizes.extend((one, 1500) for one in (first, second, 1000 - first - second))
    dice.shuffle(sizes)
    return Task(f"t{count}-{seed}", tuple(sizes), (Stock("m", 1000, 1500, Decimal(1)),), Decimal(count // 3))


def families() -> dict[str, list[Task]]:
    """Every set by its name."""
    return {
        "textbook": published("textbook_examples"),
        "trade, published": published("trade_like") + published("trade_tight"),
        "trade, generated": [trade(seed) for seed in range(40)] + [tight(seed) for seed in range(20)],
        "several rolls and offcuts": [several_rolls(seed) for seed in range(24)],
        "side by side, planted": published("roll2d_trade") + [planted_abreast(seed) for seed in range(20)],
        "side by side, random": published("roll2d_random") + [random_abreast(seed) for seed in range(40)],
        "Falkenauer U": published("falkenauer_u") + [uniform(seed) for seed in range(20)],
        "Falkenauer T60, T120": published("falkenauer_t")
        + [triplets(60 + 60 * (seed % 2), seed) for seed in range(20)],
        "triplets 249, 501": [triplets(249 + 252 * (seed % 2), seed) for seed in range(10)],
    }

"""The cover's figures, the checks of the plan, and the installation standard with where each value comes from."""

from __future__ import annotations

import dataclasses
from decimal import Decimal

from api_schema.job import followed
from workers.documents.site_pack.pack import Pack


def facts(pack: Pack) -> list[tuple[str, str]]:
    """The job in a few large figures."""
    texts, formats, plan = pack.texts, pack.formats, pack.plan
    pieces = sum(len(strip.pieces) for layout in plan.layout.surfaces for strip in layout.strips)
    return [
        (formats.number(len(plan.layout.surfaces)), texts("fact.surfaces")),
        (formats.number(plan.take_off.totals.net_m2, 1), texts("fact.net")),
        (formats.number(plan.cut_list.rolls_opened), texts("fact.rolls")),
        (formats.number(pieces), texts("fact.pieces")),
        (formats.number(plan.labour.likely_h, 1), texts("fact.hours")),
        (
            formats.number(plan.labour.crew_days, 1),
            texts("fact.days", crew=formats.number(plan.labour.crew_size)),
        ),
    ]


def agreed_in_words(pack: Pack) -> list[str]:
    """The quote this pack follows, what the customer chose in it, and who brings the collars; a line each."""
    texts, found = pack.texts, followed(pack.job)
    lines = []
    if found is not None:
        lines.append(texts("pack.agreed", number=found.number, revision=found.revision))
        lines.append(texts(f"pack.agreed.{found.insulation}"))
        lines += [texts("pack.chosen", name=name) for name in found.chosen]
    if found is not None or pack.job.collars == "by_others":
        lines.append(texts(f"pack.collars.{pack.job.collars}"))
    return lines


def check_rows(pack: Pack) -> list[dict[str, str]]:
    """What the crew should look at, warnings first."""
    return [
        {"level": check.level, "message": pack.texts.sentence(check.said, pack.formats, check.message)}
        for check in sorted(pack.plan.checks, key=lambda check: check.level != "warning")
    ]


def standard_rows(pack: Pack) -> list[dict[str, str]]:
    """Every value of the standard in the crew's words, with its provenance."""
    sources = {one.of: one for one in pack.standard.provenance}
    rows = []
    for one in dataclasses.fields(pack.standard):
        if one.name in (
            "provenance",
            "lap_penalty_per_m",
        ):  # the first is shown beside each; the second prices a layout
            continue
        source = sources.get(one.name)
        rows.append(
            {
                "name": pack.texts(f"standard.{one.name}"),
                "value": _value(pack, one.name, getattr(pack.standard, one.name)),
                "source": _source(pack, source.kind, source.note) if source else pack.texts("source.unknown"),
                "noted": "yes" if source and source.note else "",
            }
        )
    return rows


def _source(pack: Pack, kind: str, note: str) -> str:
    words = pack.texts(f"source.{kind}")
    return f"{words}: {note}" if note else words


def _value(pack: Pack, name: str, value: object) -> str:
    if isinstance(value, bool):
        return pack.texts("yes") if value else pack.texts("no")
    if isinstance(value, int):
        return f"{pack.formats.number(value)} mm"
    if isinstance(value, Decimal):
        return pack.formats.percent(value)
    return pack.texts(f"{name}.{value}")

"""Tables of a job's plan as CSV or spreadsheet."""

from __future__ import annotations

from service.api.editing import etag_of
from service.api.operation import Answer, Asked, Media
from service.api.plans import plans
from service.api.surveys import ready_plan
from service.records import runs
from service.records.errors import NotFound
from service.sheets import xlsx_file
from service.sheets.plan_tables import TABLES, as_csv, as_xlsx

_NAMES = ", ".join(f"`{name}`" for name in TABLES)
_CSV = "text/csv"


def _operation(suffix: str, words: str, media_type: str) -> None:
    def read(asked: Asked, job: str, table: str) -> Answer:
        if table not in TABLES:
            raise NotFound("table")
        run = ready_plan(asked, job)
        plan = runs.get_plan(asked.session, asked.caller.account_id, run.id)
        content = as_csv(TABLES[table], plan) if suffix == "csv" else as_xlsx(TABLES[table], plan, table)
        return Answer(
            content,
            media_type=media_type,
            etag=etag_of("table", run.id, table, suffix),
            headers={"Content-Disposition": f'attachment; filename="{table}.{suffix}"'},
        )

    read.__name__ = f"read_table_{suffix}"
    read.__doc__ = (
        f"Gives a table of the newest plan as {words}: {_NAMES}. Text is kept from being taken for a formula.\n\n"
        "409 with `Retry-After` while the plan is on its way."
    )
    plans.operation(
        "GET",
        f"/v1/jobs/{{job}}/tables/{{table}}.{suffix}",
        f"Read a table as {words}",
        scope="read",
        gives={200: Media(media_type, f"The table as {words}, its columns in the first row.")},
        may_answer=(404, 409),
        etag=True,
    )(read)


_operation("csv", "CSV", _CSV)
_operation("xlsx", "a spreadsheet", xlsx_file.MEDIA_TYPE)

__all__ = ["plans"]

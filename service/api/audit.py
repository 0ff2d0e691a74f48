"""The audit trail of an account."""

from __future__ import annotations

from typing import Any

from api_schema.audit import AuditEntry
from api_schema.fields import text
from api_schema.shape import dump
from service.api.operation import Answer, Asked, ListOf, Resource
from service.api.paging import PAGE_PARAMETERS, page_of
from service.records import audit as records

audit = Resource("audit", "Audit trail", "Who did what to what, and when. Entries are never changed.")


def _shown(entry: records.Entry) -> dict[str, Any]:
    row = entry.row
    return dump(
        AuditEntry(
            id=row.id,
            at=row.at,
            action=row.action,
            subject=row.subject,
            key=row.key_id,
            key_name=entry.key_name,
            by=entry.key_account,
            detail=row.detail,
        )
    )


@audit.operation(
    "GET",
    "/v1/account/audit",
    "Read the audit trail",
    scope="admin",
    gives={200: ListOf(AuditEntry)},
    query={
        **PAGE_PARAMETERS,
        "subject": text("Only what was done to this.", example="quo_4Zk0c7tQm2", shortest=1, longest=64),
    },
)
def read_audit(asked: Asked) -> Answer:
    """Lists what was done in this account, newest first: by its own keys, by its merchant, or by a customer's link."""
    return page_of(
        asked.query,
        lambda limit, after: records.list_audit(
            asked.session,
            asked.caller.account_id,
            limit=limit,
            after=after,
            subject=asked.query.get("subject"),
        ),
        _shown,
    )

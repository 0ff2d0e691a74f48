"""Every resource, in the order of the reference."""

from __future__ import annotations

from service.api import account, documents, hours, jobs, orders, own_values, plans, quotes
from service.api.operation import Resource

RESOURCES: tuple[Resource, ...] = (
    jobs.jobs,
    plans.plans,
    quotes.quotes,
    orders.orders,
    documents.documents,
    hours.hours,
    *own_values.RESOURCES,
    account.account,
    account.keys,
    account.customers,
)

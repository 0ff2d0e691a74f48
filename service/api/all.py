"""Every resource, in the order of the reference."""

from __future__ import annotations

from service.api import (
    account,
    audit,
    batches,
    documents,
    hooks,
    hours,
    job_ledger,
    jobs,
    leakage,
    logo,
    models,
    offcuts,
    orders,
    own_values,
    plan_tables,
    pressure_tests,
    price_levels,
    price_sheets,
    quotes,
    surveys,
    trade_packs,
)
from service.api.operation import Resource

RESOURCES: tuple[Resource, ...] = (
    jobs.jobs,
    batches.batches,
    models.models,
    plan_tables.plans,
    surveys.surveys,
    quotes.quotes,
    orders.orders,
    offcuts.offcuts,
    documents.documents,
    trade_packs.trade_packs,
    leakage.leakage,
    pressure_tests.pressure_tests,
    hours.hours,
    job_ledger.job_ledger,
    *own_values.RESOURCES,
    price_sheets.price_sheets,
    price_levels.price_levels,
    logo.account,
    account.keys,
    account.customers,
    hooks.hooks,
    audit.audit,
)

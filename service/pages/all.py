"""Every page, routed."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from flask import Flask

from service.api.serving import Server
from service.pages.account import add_account
from service.pages.as_agreed import add_as_agreed
from service.pages.audit import add_audit
from service.pages.batches import add_batches
from service.pages.finish import add_finish
from service.pages.fit import add_fit
from service.pages.home import add_open_pages
from service.pages.hooks import add_hooks
from service.pages.jobs import add_jobs
from service.pages.ledger import add_ledger
from service.pages.logo import add_logo
from service.pages.measure import add_measure
from service.pages.models import add_models
from service.pages.offcuts import add_offcuts
from service.pages.offer import add_offers
from service.pages.orders import add_orders
from service.pages.own_values import add_own_values
from service.pages.papers import add_papers
from service.pages.plan import add_plan
from service.pages.price_levels import add_price_levels
from service.pages.price_sheets import add_price_sheets
from service.pages.quotes import add_quotes
from service.pages.serving import Pages
from service.pages.session import Sessions
from service.pages.sign_in import add_sign_in
from service.pages.testing import add_testing
from service.settings import Settings


def add_pages(app: Flask, server: Server, settings: Settings, document: Callable[[], dict[str, Any]]) -> None:
    """Routes the pages anybody may see, and those of an account behind its key."""
    add_open_pages(app, document)
    sessions = Sessions(settings)
    add_sign_in(app, server, sessions)
    add_offers(app, server, sessions)
    pages = Pages(app, server, sessions)
    add_jobs(pages)
    add_measure(pages)
    add_plan(pages)
    add_quotes(pages)
    add_as_agreed(pages)
    add_orders(pages)
    add_fit(pages)
    add_finish(pages)
    add_testing(pages)
    add_papers(pages)
    add_own_values(pages)
    add_account(pages)
    add_hooks(pages)
    add_batches(pages)
    add_models(pages)
    add_ledger(pages)
    add_offcuts(pages)
    add_price_levels(pages)
    add_price_sheets(pages)
    add_audit(pages)
    add_logo(pages)

"""Telling hooks: real HTTP receivers, a real database; only the calendar is moved, by changing rows."""

from __future__ import annotations

import base64
import datetime
import hashlib
import hmac
import json
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

import pytest
from sqlalchemy import event, select, update

from service.records import accounts, deliveries, events, hooks
from service.records.ids import new_hook_secret
from service.records.sealing import Sealer
from service.records.store import Store, now_of
from service.records.tables import Audit, Hook, HookDelivery
from service.secrets_key import new_key
from service.settings import Settings
from workers.hooks.send import Attempt
from workers.hooks.teller import AGAIN_AFTER_S, again_in_s, attempt, tell


@dataclass
class Receiver:
    """A system that is told things."""

    url: str = ""
    answer: tuple[int, dict[str, str]] = (200, {})
    got: list[tuple[dict[str, str], bytes]] = field(default_factory=list)
    hold: threading.Event | None = None


@pytest.fixture
def receiver_of() -> Iterator[Callable[..., Receiver]]:
    servers: list[ThreadingHTTPServer] = []
    receivers: list[Receiver] = []

    def make(**about: Any) -> Receiver:
        receiver = Receiver(**about)

        class Handler(BaseHTTPRequestHandler):
            def do_POST(self) -> None:
                sent = self.rfile.read(int(self.headers["Content-Length"]))
                receiver.got.append((dict(self.headers), sent))
                if receiver.hold is not None:
                    receiver.hold.wait(20)
                status, more = receiver.answer
                self.send_response(status)
                for name, value in {"Content-Length": "2", **more}.items():
                    self.send_header(name, value)
                self.end_headers()
                self.wfile.write(b"ok")

            def log_message(self, *_: Any) -> None:
                """Says nothing."""

        server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02}, daemon=True).start()
        servers.append(server)
        receivers.append(receiver)
        receiver.url = f"http://127.0.0.1:{server.server_port}/told"
        return receiver

    yield make
    for receiver in receivers:
        if receiver.hold is not None:
            receiver.hold.set()
    for server in servers:
        server.shutdown()
        server.server_close()


@pytest.fixture
def settings(settings: Settings) -> Settings:
    return replace(settings, hooks_allowed="127.0.0.0/8")


@pytest.fixture
def account(store: Store) -> str:
    return _account(store)


def _account(store: Store) -> str:
    with store.writing() as session:
        return accounts.create_account(session, name="Example Airtight Ltd", kind="contractor").id


def _hook(store: Store, account: str, url: str) -> Hook:
    with store.writing() as session:
        return hooks.create_hook(
            session, account, url=url, events=[], active=True, note="", secret=new_hook_secret()
        )


def _event(store: Store, account: str, count: int = 1) -> None:
    with store.writing() as session:
        for number in range(count):
            events.tell(
                session, account, "plan.ready", subject=f"/v1/jobs/j{number}/plan", data={"n": number}
            )


def _claim(store: Store, most: int = 32) -> list[deliveries.Due]:
    with store.writing() as session:
        return deliveries.claim_due(session, most=most)


def _only(store: Store) -> HookDelivery:
    with store.reading() as session:
        return session.scalars(select(HookDelivery)).one()


def _due_now(store: Store) -> None:
    with store.writing() as session:
        session.execute(update(HookDelivery).values(next_at=now_of(session) - datetime.timedelta(seconds=1)))


def test_what_is_sent_is_signed_and_says_what_happened(
    store: Store, settings: Settings, account: str, receiver_of: Callable[..., Receiver]
) -> None:
    receiver = receiver_of()
    hook = _hook(store, account, receiver.url)
    with store.writing() as session:
        rotated = hooks.rotate_secret(session, account, hook.id, secret=new_hook_secret())
    _event(store, account)
    (due,) = _claim(store)
    attempt(store, settings, due)
    ((sent, body),) = receiver.got
    told = json.loads(body)
    assert (told["type"], told["subject"], told["data"]) == ("plan.ready", "/v1/jobs/j0/plan", {"n": 0})
    assert told["id"] == sent["webhook-id"] == _only(store).event_id
    message = f"{sent['webhook-id']}.{sent['webhook-timestamp']}.".encode() + body
    wanted = []
    for secret in (rotated.secret, hook.secret):
        key = base64.b64decode(secret.removeprefix("whsec_"))
        wanted.append("v1," + base64.b64encode(hmac.new(key, message, hashlib.sha256).digest()).decode())
    assert sent["webhook-signature"].split(" ") == wanted
    delivered = _only(store)
    assert (delivered.state, delivered.attempt, delivered.log[0]["status"]) == ("delivered", 1, 200)


def test_the_schedule_is_walked_and_given_up_within_a_day(
    store: Store, settings: Settings, account: str, receiver_of: Callable[..., Receiver]
) -> None:
    receiver = receiver_of(answer=(500, {}))
    _hook(store, account, receiver.url)
    _event(store, account)
    for tries, planned_s in enumerate(AGAIN_AFTER_S, start=1):
        (due,) = _claim(store)
        attempt(store, settings, due)
        waiting = _only(store)
        assert (waiting.state, waiting.attempt) == ("waiting", tries)
        ended = datetime.datetime.fromisoformat(waiting.log[-1]["at"])
        assert 0.9 * planned_s <= (waiting.next_at - ended).total_seconds() <= planned_s
        assert _claim(store) == []
        _due_now(store)
    (due,) = _claim(store)
    attempt(store, settings, due)
    ended = _only(store)
    assert (ended.state, ended.attempt) == ("given_up", len(AGAIN_AFTER_S) + 1)
    assert len({sent["webhook-id"] for sent, _ in receiver.got}) == 1
    assert sum(AGAIN_AFTER_S) < 24 * 3600


def test_what_retry_after_asks_for_is_kept_and_beyond_the_day_it_is_given_up() -> None:
    slow = Attempt(503, "answered 503", retry_after_s=1800)
    assert again_in_s(1, slow) == 1800
    assert 0.9 * 36_000 <= (again_in_s(6, slow) or 0) <= 36_000
    assert again_in_s(len(AGAIN_AFTER_S) + 1, slow) is None


def test_a_hook_that_is_gone_is_stopped_and_told_nothing_more(
    store: Store, settings: Settings, account: str, receiver_of: Callable[..., Receiver]
) -> None:
    hook = _hook(store, account, receiver_of(answer=(410, {})).url)
    _event(store, account)
    (due,) = _claim(store)
    attempt(store, settings, due)
    with store.reading() as session:
        stopped = hooks.get_hook(session, account, hook.id)
    assert (stopped.active, _only(store).state) == (False, "given_up")
    assert "410" in str(stopped.stopped_because)
    _event(store, account)
    assert _only(store).state == "given_up"


def _given_up(store: Store, settings: Settings, account: str) -> None:
    """One event comes to the end of its day, by its last attempt."""
    _event(store, account)
    with store.writing() as session:
        session.execute(
            update(HookDelivery)
            .where(HookDelivery.state == "waiting")
            .values(tries=len(AGAIN_AFTER_S), next_at=now_of(session) - datetime.timedelta(seconds=1))
        )
    for due in _claim(store):
        attempt(store, settings, due)


def test_a_hook_that_keeps_failing_is_stopped_with_the_reason_and_starts_again_when_asked(
    store: Store, settings: Settings, account: str, receiver_of: Callable[..., Receiver]
) -> None:
    receiver = receiver_of(answer=(500, {}))
    hook = _hook(store, account, receiver.url)
    for _ in range(deliveries.STOP_AFTER - 1):
        _given_up(store, settings, account)
    receiver.answer = (200, {})  # one that is taken begins the count anew
    _given_up(store, settings, account)
    receiver.answer = (500, {})
    for _ in range(deliveries.STOP_AFTER - 1):
        _given_up(store, settings, account)
    with store.reading() as session:
        assert hooks.get_hook(session, account, hook.id).active
    _given_up(store, settings, account)
    with store.reading() as session:
        stopped = hooks.get_hook(session, account, hook.id)
        (said,) = session.scalars(select(Audit).where(Audit.action == "hook.stopped")).all()
    assert not stopped.active
    assert "5 events in a row" in str(stopped.stopped_because)
    assert "answered 500" in str(stopped.stopped_because)
    assert (said.account_id, said.subject, said.detail) == (account, hook.id, stopped.stopped_because)
    with store.writing() as session:
        hooks.change_hook(session, account, hook.id, if_version=stopped.version, active=True)
    _given_up(store, settings, account)
    with store.reading() as session:
        again = hooks.get_hook(session, account, hook.id)
    assert (again.active, again.stopped_because, again.given_up_in_a_row) == (True, None, 1)


def test_a_key_that_is_missing_is_said_and_not_held_against_the_hook(
    store: Store, settings: Settings, account: str, receiver_of: Callable[..., Receiver]
) -> None:
    receiver = receiver_of()
    sealed_with, shown = new_key(), new_hook_secret()
    hook = _hook(store, account, receiver.url)
    with store.writing() as session:
        session.execute(update(Hook).values(secret=Sealer([sealed_with]).seal(shown)))
    lost = replace(settings, secrets_key=new_key())
    for _ in range(deliveries.STOP_AFTER + 1):
        _given_up(store, lost, account)
    with store.reading() as session:
        assert hooks.get_hook(session, account, hook.id).active
        logs = session.scalars(select(HookDelivery.log)).all()
    assert receiver.got == []
    assert "key this hook's secret was sealed with is missing" in logs[-1][0]["failure"]
    _event(store, account)
    (due,) = _claim(store)
    attempt(store, replace(settings, secrets_key=f"{new_key()},{sealed_with}"), due)
    ((sent, body),) = receiver.got
    message = f"{sent['webhook-id']}.{sent['webhook-timestamp']}.".encode() + body
    signature = hmac.new(base64.b64decode(shown.removeprefix("whsec_")), message, hashlib.sha256).digest()
    assert sent["webhook-signature"] == "v1," + base64.b64encode(signature).decode()


def test_a_redirect_is_not_followed(
    store: Store, settings: Settings, account: str, receiver_of: Callable[..., Receiver]
) -> None:
    inside = receiver_of()
    _hook(store, account, receiver_of(answer=(302, {"Location": inside.url})).url)
    _event(store, account)
    (due,) = _claim(store)
    attempt(store, settings, due)
    assert inside.got == []
    assert _only(store).state == "waiting"


def test_an_address_inside_is_not_sent_to_where_it_is_not_allowed(
    store: Store, settings: Settings, account: str, receiver_of: Callable[..., Receiver]
) -> None:
    receiver = receiver_of()
    _hook(store, account, receiver.url)
    _event(store, account)
    (due,) = _claim(store)
    attempt(store, replace(settings, hooks_allowed=""), due)
    assert receiver.got == []
    assert _only(store).log[0]["status"] is None


def test_a_sender_that_died_is_followed_by_another_and_its_late_word_changes_nothing(
    store: Store, account: str
) -> None:
    _hook(store, account, "https://jobs.example.com/")
    _event(store, account)
    (dead,) = _claim(store)
    assert _claim(store) == []
    _due_now(store)
    (alive,) = _claim(store)
    assert alive.attempt == dead.attempt + 1
    entry = {"status": 200, "failure": "", "answer": "", "took_ms": 1}
    with store.writing() as session:
        assert not deliveries.outcome(session, dead, entry=entry, delivered=True, again_in_s=None)
        assert deliveries.outcome(session, alive, entry=entry, delivered=True, again_in_s=None)


def test_one_hook_and_one_account_hold_few_threads(store: Store, account: str) -> None:
    busy = [_hook(store, account, "https://jobs.example.com/").id for _ in range(6)]
    _event(store, account, count=10)
    other = _account(store)
    quiet = _hook(store, other, "https://lists.example.com/").id
    _event(store, other)
    claimed = _claim(store)
    with store.reading() as session:
        told = [session.get_one(HookDelivery, due.id).hook_id for due in claimed]
    assert told.count(quiet) == 1
    assert len(claimed) == deliveries.EACH_ACCOUNT + 1
    assert max(told.count(hook) for hook in busy) <= deliveries.EACH_HOOK
    assert _claim(store) == []


def test_a_slow_receiver_delays_no_other(
    store: Store, settings: Settings, account: str, receiver_of: Callable[..., Receiver]
) -> None:
    slow, quick = receiver_of(hold=threading.Event()), receiver_of()
    _hook(store, account, slow.url)
    other = _account(store)
    _hook(store, other, quick.url)
    _event(store, account, count=6)
    stop = threading.Event()
    telling = threading.Thread(target=tell, args=(store, settings, stop))
    telling.start()
    try:
        _until(lambda: len(slow.got) == deliveries.EACH_HOOK)
        _event(store, other, count=6)
        _until(lambda: len(quick.got) == 6)
        assert len(slow.got) == deliveries.EACH_HOOK  # still held
    finally:
        assert slow.hold is not None
        slow.hold.set()
        _until(lambda: len(slow.got) == 6)
        stop.set()
        telling.join(30)
    assert not telling.is_alive()
    with store.reading() as session:
        assert {row.state for row in session.scalars(select(HookDelivery))} == {"delivered"}


def test_an_idle_teller_asks_one_question_on_one_connection(store: Store, settings: Settings) -> None:
    asked: list[str] = []
    taken: list[object] = []
    event.listen(store.engine, "before_cursor_execute", lambda *about: asked.append(about[2]))
    event.listen(store.engine, "checkout", lambda *about: taken.append(about[0]))
    stop = threading.Event()
    telling = threading.Thread(target=tell, args=(store, settings, stop))
    telling.start()
    _until(lambda: len(asked) > 2)
    stop.set()
    telling.join(30)
    assert (len(set(asked)), len(taken)) == (1, 1)  # nor a BEGIN


def _until(is_so: Callable[[], bool]) -> None:
    give_up = time.monotonic() + 120
    while not is_so():
        assert time.monotonic() < give_up
        time.sleep(0.02)


def test_what_could_not_be_told_in_its_day_is_given_up_and_later_forgotten(
    store: Store, account: str
) -> None:
    hook = _hook(store, account, "https://jobs.example.com/")
    _event(store, account)
    with store.writing() as session:
        hooks.change_hook(session, account, hook.id, if_version=1, active=False)
        session.execute(update(HookDelivery).values(give_up_at=now_of(session)))
    with store.writing() as session:
        assert deliveries.give_up_late(session) == 1
        session.execute(update(HookDelivery).values(ended_at=now_of(session) - datetime.timedelta(days=31)))
        deliveries.forget_old(session)
        assert session.scalars(select(HookDelivery)).all() == []

"""Accounts, keys and a merchant's trade customers."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import select

from service.records import accounts
from service.records.errors import NotFound, NotPossibleNow, Stale
from service.records.ids import looks_like_a_key, new_id, new_secret
from service.records.store import Store
from service.records.tables import Account, ApiKey


def test_a_key_is_found_by_its_secret_and_kept_without_it(store: Store, account: Account) -> None:
    with store.writing() as session:
        made = accounts.create_key(session, account.id, name="office", scopes=("write", "read"))
    with store.reading() as session:
        found = accounts.find_key(session, made.secret)
        assert found is not None
        assert (found.account_id, found.scopes) == (account.id, ["read", "write"])
        row = session.execute(select(ApiKey.__table__)).one()
        assert made.secret not in str(row)
        assert made.secret.startswith(found.prefix)
        assert made.secret.endswith(found.last4)


def test_a_revoked_key_is_found_no_more(store: Store, account: Account) -> None:
    with store.writing() as session:
        made = accounts.create_key(session, account.id, name="office")
    with store.writing() as session:
        accounts.revoke_key(session, account.id, made.key.id)
    with store.reading() as session:
        assert accounts.find_key(session, made.secret) is None


def test_a_rotated_key_opens_beside_the_new_one_until_its_time_is_over(
    store: Store, account: Account
) -> None:
    with store.writing() as session:
        old = accounts.create_key(session, account.id, name="office", scopes=("read",))
    with store.writing() as session:
        new = accounts.rotate_key(session, account.id, old.key.id)
        assert (new.key.name, new.key.scopes) == ("office", ["read"])
    with store.reading() as session:
        assert accounts.find_key(session, old.secret) is not None
        assert accounts.find_key(session, new.secret) is not None
    with store.writing() as session, pytest.raises(NotPossibleNow):
        accounts.rotate_key(session, account.id, old.key.id)
    with store.writing() as session:
        row = session.get_one(ApiKey, old.key.id)
        assert row.revoked_at is not None
        row.revoked_at -= accounts.OLD_KEY_OPENS
    with store.reading() as session:
        assert accounts.find_key(session, old.secret) is None
        assert accounts.find_key(session, new.secret) is not None


def test_a_rotated_key_can_be_revoked_before_its_time_is_over(store: Store, account: Account) -> None:
    with store.writing() as session:
        old = accounts.create_key(session, account.id, name="office")
        accounts.rotate_key(session, account.id, old.key.id)
    with store.writing() as session:
        accounts.revoke_key(session, account.id, old.key.id)
    with store.reading() as session:
        assert accounts.find_key(session, old.secret) is None


def test_another_account_cannot_revoke_a_key(store: Store, account: Account) -> None:
    with store.writing() as session:
        made = accounts.create_key(session, account.id, name="office")
        other = accounts.create_account(session, name="Other Example", kind="contractor")
    with store.writing() as session, pytest.raises(NotFound):
        accounts.revoke_key(session, other.id, made.key.id)
    with store.reading() as session:
        assert accounts.find_key(session, made.secret) is not None


def test_unknown_scopes_are_refused(store: Store, account: Account) -> None:
    with store.writing() as session, pytest.raises(ValueError, match="scopes must be some of"):
        accounts.create_key(session, account.id, name="office", scopes=("everything",))


@given(
    st.integers(0, 56), st.sampled_from("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz_-é")
)
def test_a_mistyped_key_is_known_without_a_look_up(at: int, letter: str) -> None:
    secret = new_secret()
    assert looks_like_a_key(secret)
    changed = secret[:at] + letter + secret[at + 1 :]
    assert looks_like_a_key(changed) == (changed == secret)
    assert not looks_like_a_key(secret[:-1])


def test_public_names_do_not_repeat() -> None:
    assert len({new_id("job") for _ in range(10_000)}) == 10_000


def test_a_profile_changed_meanwhile_is_stale(store: Store, account: Account) -> None:
    with store.writing() as session:
        changed = accounts.put_profile(
            session, account.id, {**account.profile, "phone": "+00 1"}, if_version=account.version
        )
        assert (changed.version, changed.profile["phone"]) == (2, "+00 1")
    with store.writing() as session, pytest.raises(Stale):
        accounts.put_profile(session, account.id, account.profile, if_version=1)


def test_a_merchant_reaches_its_own_customers_alone(store: Store, account: Account) -> None:
    with store.writing() as session:
        merchant = accounts.create_account(session, name="Example Merchant", kind="merchant")
        mine = accounts.create_customer(session, merchant.id, name="Example Lining")
        again = accounts.create_customer(session, merchant.id, name="Second Lining")
    with store.reading() as session:
        assert accounts.customer_of(session, merchant.id, mine.id).id == mine.id
        for stranger in (account.id, merchant.id, "acc_none"):
            with pytest.raises(NotFound):
                accounts.customer_of(session, merchant.id, stranger)
        first = accounts.list_customers(session, merchant.id, limit=1)
        then = accounts.list_customers(
            session, merchant.id, limit=9, after=(first[0].created_at, first[0].id)
        )
        assert [customer.id for customer in (*first, *then)] == [mine.id, again.id]


def test_a_contractor_has_no_customers(store: Store, account: Account) -> None:
    with store.writing() as session, pytest.raises(NotFound):
        accounts.create_customer(session, account.id, name="Example Lining")

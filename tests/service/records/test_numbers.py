"""Numbers without gaps, however many want one at once."""

from concurrent.futures import ThreadPoolExecutor

from service.records import accounts
from service.records.numbers import next_number
from service.records.store import Store
from service.records.tables import Account


class _BrokenError(Exception):
    pass


def test_numbers_have_no_gaps_and_no_doubles_under_parallel_use(store: Store, account: Account) -> None:
    def take(turn: int) -> int | None:
        try:
            with store.writing() as session:
                number = next_number(session, account.id, "quote", 2026)
                if turn % 5 == 0:
                    raise _BrokenError
                return number
        except _BrokenError:  # what was rolled back has used no number
            return None

    with ThreadPoolExecutor(8) as pool:
        taken = [number for number in pool.map(take, range(60)) if number is not None]
    assert sorted(taken) == list(range(1, 49))


def test_each_account_year_and_purpose_counts_for_itself(store: Store, account: Account) -> None:
    with store.writing() as session:
        other = accounts.create_account(session, name="Other Example", kind="contractor")
        given = [
            next_number(session, owner, name, year)
            for owner, name, year in (
                (account.id, "quote", 2026),
                (account.id, "quote", 2026),
                (account.id, "quote", 2027),
                (account.id, "order", 2026),
                (other.id, "quote", 2026),
            )
        ]
    assert given == [1, 2, 1, 1, 1]

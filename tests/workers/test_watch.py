"""What must not go on is broken off; what ends by itself hears nothing more."""

from __future__ import annotations

import time

import pytest

from workers.watch import BrokenOff, held_kib, watched

_PLENTY_KIB = 10**9


def _endlessly() -> None:
    while True:
        time.sleep(0.01)


def test_work_that_is_no_longer_ours_is_broken_off() -> None:
    with (
        pytest.raises(BrokenOff) as broken_off,
        watched(lambda: False, heartbeat_s=0.01, memory_kib=_PLENTY_KIB),
    ):
        _endlessly()
    assert broken_off.value.why == "not_ours"


def test_work_that_holds_too_much_memory_is_broken_off() -> None:
    held: list[bytes] = []

    def grow() -> None:
        while True:
            held.append(b"x" * 1_000_000)
            time.sleep(0.001)

    with (
        pytest.raises(BrokenOff) as broken_off,
        watched(lambda: True, heartbeat_s=10, memory_kib=held_kib() + 100_000),
    ):
        grow()
    assert broken_off.value.why == "memory"
    assert len(held) > 50


def test_a_signal_that_is_lost_in_a_callback_is_sent_again() -> None:
    lost: list[BrokenOff] = []

    def lose_the_first() -> None:
        try:
            _endlessly()
        except BrokenOff as broken_off:
            lost.append(broken_off)
        _endlessly()

    with pytest.raises(BrokenOff), watched(lambda: False, heartbeat_s=0.01, memory_kib=_PLENTY_KIB):
        lose_the_first()
    assert len(lost) == 1


def test_work_that_is_ours_goes_on_with_its_lease_extended_and_nothing_comes_after() -> None:
    beats: list[float] = []

    def beat() -> bool:
        beats.append(time.monotonic())
        return True

    with watched(beat, heartbeat_s=0.01, memory_kib=_PLENTY_KIB):
        while len(beats) < 3:
            time.sleep(0.005)
    heard = len(beats)
    time.sleep(0.05)
    assert len(beats) == heard

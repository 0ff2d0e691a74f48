"""The embedded broker: on a short socket path, and never two on one directory."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
import redis

from service import broker


def test_the_socket_is_in_the_data_directory_unless_that_path_is_too_long(tmp_path: Path) -> None:
    assert broker.socket_path_for(Path("/srv/lapwise")) == Path("/srv/lapwise/broker.sock")
    long = tmp_path / ("long" * 40)
    short = broker.socket_path_for(long)
    assert len(str(short)) <= 100
    assert short == broker.socket_path_for(long)
    assert short != broker.socket_path_for(long / "other")
    for made in (short, broker.socket_path_for(long / "other")):
        made.parent.rmdir()


def test_a_short_place_that_others_can_write_to_is_refused(tmp_path: Path) -> None:
    long = tmp_path / ("long" * 40)
    place = broker.socket_path_for(long).parent
    place.chmod(0o777)
    with pytest.raises(OSError, match="is not this user's alone"):
        broker.socket_path_for(long)
    place.rmdir()


def test_what_is_queued_survives_a_kill_and_what_was_left_over_is_ended(tmp_path: Path) -> None:
    socket_path = tmp_path / "broker.sock"
    command = [sys.executable, "-m", "service.broker", str(tmp_path / "broker"), str(socket_path)]

    def start() -> subprocess.Popen[bytes]:
        process = subprocess.Popen(command, start_new_session=True)
        give_up = time.monotonic() + 120
        while not broker.answers(socket_path):
            assert time.monotonic() < give_up
            time.sleep(0.02)
        return process

    keeper = start()
    with redis.Redis(unix_socket_path=str(socket_path)) as client:
        client.lpush("queue", "run_1")
    os.kill(keeper.pid, signal.SIGKILL)  # the server itself lives on, an orphan
    keeper.wait()
    assert broker.answers(socket_path)
    broker.end_left_over(socket_path)
    assert not broker.answers(socket_path)
    again = start()
    with redis.Redis(unix_socket_path=str(socket_path)) as client:
        assert client.lrange("queue", 0, -1) == [b"run_1"]
    again.terminate()
    assert again.wait(20) == 0
    assert not broker.answers(socket_path)

"""A process ends at once: what it said is written out, and nothing else is waited for."""

import subprocess
import sys

_PROGRAM = """
import atexit, logging, threading, time
from service.ending import end
atexit.register(print, "taken apart")
threading.Thread(target=time.sleep, args=(3600,)).start()
logging.basicConfig()
logging.warning("done")
print("said")
end(3)
"""


def test_what_was_said_is_written_and_the_code_is_given_without_taking_the_interpreter_apart() -> None:
    ended = subprocess.run(
        [sys.executable, "-c", _PROGRAM], capture_output=True, text=True, check=False, timeout=60
    )
    assert (ended.returncode, ended.stdout, ended.stderr) == (3, "said\n", "WARNING:root:done\n")


def test_a_closed_stream_changes_nothing() -> None:
    program = "import sys; from service.ending import end; sys.stdout.close(); end(3)"
    assert subprocess.run([sys.executable, "-c", program], check=False, timeout=60).returncode == 3

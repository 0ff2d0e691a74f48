"""Peak memory of the cutting engine alone: every task cut in a process without any other solver.

Prints whole megabytes: `python -m tests.benchmarks.cutting_memory`.
"""

from pathlib import Path

from tests.benchmarks.cutting_instances import families
from workers.engine.cutting import cut

if __name__ == "__main__":
    for members in families().values():
        for task in members:
            cut(task.pieces, task.stock, 1000)
    # getrusage would also count the process that started this one, as large as it was at that moment
    status = Path("/proc/self/status").read_text(encoding="ascii")
    print(int(status.partition("VmHWM:")[2].split()[0]) // 1024)

"""Work that ended with a problem of the sender's: a result, never tried again."""

from __future__ import annotations

from api_schema.problem import Problem


class WorkRefused(Exception):  # noqa: N818 - nothing of ours failed
    """Ends a run with a problem, for good."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        super().__init__(problem.detail)

"""Hours of a job: quantities times outputs times the conditions that hold, and the hours that are safe to promise.

Here belong operations, conditions and the spread of hours. What an hour costs belongs to pricing; how recorded
hours move the outputs stands in service/learning.py.
"""

from workers.engine.labour.hours import hours

__all__ = ["hours"]

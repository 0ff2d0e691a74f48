"""Everything that computes or prints, and nothing that answers HTTP.

`engine` is the calculator, `documents` makes paper and drawings, `queue` is the Celery application, and `tasks`
is the only room that knows both the queue and the store.
"""

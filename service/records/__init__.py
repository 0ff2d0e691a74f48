"""What is kept: SQLAlchemy tables, the session, the queries and the migrations.

Every query takes the account, so that nobody reads another's things by a slip. The database is the record; the
queue only carries hints. No HTTP here, and no computing.

How it is used, for those who build on it: make one `store.Store(settings.database_url)` for each process;
``with store.reading() as session`` to look, ``with store.writing() as session`` to change (one transaction, committed
at the end); then call the functions of `accounts`, `own_values` (standard, outputs, price book), `jobs`, `runs`,
`quotes`, `orders`, `documents`, `hours` and `repeats` with that session. They give rows of `tables`, which stay
readable after the session, and raise what `errors` lists. A handler that creates something does
``repeats.begin_once``, the creation, ``repeats.keep_answer`` in one ``writing()`` block. Work is queued by
``runs.queue_plan`` in the same block; nothing is ever sent to the broker from a request. Only workers and the
scheduler touch `ledger`.
"""

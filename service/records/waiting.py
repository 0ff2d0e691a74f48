"""Which kinds of runs wait to be announced: a question so cheap that the relay may ask it twenty times a second."""

from __future__ import annotations

from collections.abc import Iterable

from sqlalchemy import Connection, exists, select

from service.records.tables import Run


class WaitingKinds:
    """Asks one question over and over; its text is made once, since making it costs more than the answer."""

    def __init__(self, connection: Connection, kinds: Iterable[str]):
        """`connection` is one of `Store.looking`."""
        self._connection, self._kinds = connection, tuple(kinds)
        question = select(
            *(
                exists().where(Run.kind == kind, Run.state == "queued", Run.dispatched_at.is_(None))
                for kind in self._kinds
            )
        )
        self._text = str(question.compile(connection, compile_kwargs={"literal_binds": True}))

    def look(self) -> list[str]:
        """Kinds of which a run is queued and not announced, also where its time has not come or there is no room."""
        found = self._connection.exec_driver_sql(self._text).one()
        return [kind for kind, waits in zip(self._kinds, found, strict=True) if waits]

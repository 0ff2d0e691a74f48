"""What waits: questions so cheap that an idle process may ask them many times a second.

Each is asked over and over on a connection of `Store.looking`; its text is made once, since making it costs more than
the answer.
"""

from __future__ import annotations

from collections.abc import Iterable

from sqlalchemy import Connection, Exists, exists, select

from service.records.tables import HookDelivery, Run


class WaitingKinds:
    """Of which kinds do runs wait to be announced?"""

    def __init__(self, connection: Connection, kinds: Iterable[str]):
        """`connection` is one of `Store.looking`."""
        self._connection, self._kinds = connection, tuple(kinds)
        self._text = _text(
            connection,
            *(
                exists().where(Run.kind == kind, Run.state == "queued", Run.dispatched_at.is_(None))
                for kind in self._kinds
            ),
        )

    def look(self) -> list[str]:
        """Kinds of which a run is queued and not announced, also where its time has not come or there is no room."""
        found = self._connection.exec_driver_sql(self._text).one()
        return [kind for kind, waits in zip(self._kinds, found, strict=True) if waits]


class WaitingDeliveries:
    """Is there anything hooks are to be told?"""

    def __init__(self, connection: Connection):
        """`connection` is one of `Store.looking`."""
        self._connection = connection
        self._text = _text(connection, exists().where(HookDelivery.state.in_(("waiting", "sending"))))

    def look(self) -> bool:
        """Also where its time has not come: `deliveries.any_due` says that."""
        return bool(self._connection.exec_driver_sql(self._text).scalar_one())


def _text(connection: Connection, *questions: Exists) -> str:
    return str(select(*questions).compile(connection, compile_kwargs={"literal_binds": True}))

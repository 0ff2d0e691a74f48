"""The ground floor: the shapes that travel between browser, API, queue, engine and paper.

One file per concept of the trade's vocabulary. Each shape is a frozen dataclass whose every attribute names
its marshmallow field beside its type, so that the record and its schema cannot drift apart. Units stand in
the names. No Flask, no database, no queue, and no arithmetic beyond what tells a valid shape from a bad one.
"""

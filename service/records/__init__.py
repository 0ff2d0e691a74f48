"""What is kept: SQLAlchemy tables, the session, the queries and the migrations.

Every query takes the account, so that nobody reads another's things by a slip. The database is the record; the
queue only carries hints. No HTTP here, and no computing.
"""

"""Alembic's environment: the caller hands in the connection and its transaction."""

from alembic import context

connection = context.config.attributes.get("connection")
if connection is None:
    message = "Run migrations through haccp, which opens the record: haccp --db FILE status"
    raise SystemExit(message)

context.configure(connection=connection, target_metadata=None, transactional_ddl=True)
with context.begin_transaction():
    context.run_migrations()

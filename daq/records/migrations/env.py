"""Run by Alembic: upgrades over the connection it was handed, inside that one transaction."""

from alembic import context

context.configure(connection=context.config.attributes["connection"])
context.run_migrations()

"""Run by Alembic: upgrades over the connection it was handed, inside that one transaction.

Its version stands in a table of its own, so that a bench may keep its records in a schema beside.
"""

from alembic import context

context.configure(
    connection=context.config.attributes["connection"],
    version_table=context.config.attributes["version_table"],
)
context.run_migrations()

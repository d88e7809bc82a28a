"""Run the steps on the connection that is handed over, inside its own transaction."""

from alembic import context

context.configure(connection=context.config.attributes["connection"])
context.run_migrations()

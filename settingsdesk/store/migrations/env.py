"""Runs revisions on the connection that ``migrate`` hands over; the transaction is its own."""

from alembic import context

import settingsdesk.store  # noqa: F401 -- fills the metadata with every table
from settingsdesk.store.base import Base

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=Base.metadata,
    render_as_batch=True,
)
context.run_migrations()

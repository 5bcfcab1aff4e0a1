"""Runs migrations on the connection the program hands over, in the transaction it has begun."""

from __future__ import annotations

from alembic import context

from fleetcare.store.tables import metadata

connection = context.config.attributes["connection"]
context.configure(connection=connection, target_metadata=metadata)
context.run_migrations()

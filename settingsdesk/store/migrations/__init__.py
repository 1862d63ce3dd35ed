"""The revisions of the tables, applied by ``settingsdesk.store.migrate``."""

"""A meet as its host prepares it: days, sessions, entries, start orders."""

"""Pages of a meet as its host prepares it."""

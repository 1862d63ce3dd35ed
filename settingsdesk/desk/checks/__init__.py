"""Checks and what they find: check lists, findings, photos, parts in stock, what is due."""

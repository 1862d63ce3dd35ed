"""Checks, and the life of what they find."""

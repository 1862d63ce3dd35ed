"""Crew sheets and a meet's cards."""

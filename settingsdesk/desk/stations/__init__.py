"""Phones of volunteers at one apparatus of a meet: let in, scan a card, confirm."""

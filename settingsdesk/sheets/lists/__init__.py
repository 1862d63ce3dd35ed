"""Coaches' lists as they come: tables of many layouts and languages, previewed before use."""

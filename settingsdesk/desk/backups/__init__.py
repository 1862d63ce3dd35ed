"""Backups: everything a desk is, in one file; made, looked at, and put in the desk's place."""

"""The use cases: one function each, called by pages and command line alike.

Each takes the session of a club's unit of work, and ``by``, the name of whoever does it, where it
writes. Nothing here commits: leaving the unit of work does.
"""

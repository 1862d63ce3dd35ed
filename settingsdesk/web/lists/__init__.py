"""Pages on which a list is sent, looked at and kept."""

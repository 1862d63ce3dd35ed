"""Pages of rotations: the list, the coach's wishes, the search, the order."""

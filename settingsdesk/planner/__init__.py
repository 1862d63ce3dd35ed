"""The order of a rotation: the search, its bounds and its proof."""

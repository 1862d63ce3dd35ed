"""Ordering a rotation: what is asked, the planner's problem, the search, the order kept."""

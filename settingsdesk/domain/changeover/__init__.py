"""From one setup to the next: moves, the safe sequence, the shortest schedule, the run."""

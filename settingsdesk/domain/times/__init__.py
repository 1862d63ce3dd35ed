"""How long it takes: what was timed, times fitted to it, warm-up times."""

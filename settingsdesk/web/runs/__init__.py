"""At the bars: the pages of a run, and of the times learned from runs."""

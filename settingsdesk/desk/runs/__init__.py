"""A rotation carried out at the bars, event by event, and the times learned from it."""

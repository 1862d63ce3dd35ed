"""Rail settings for gymnasts: kept, converted, ordered and carried to the apparatus."""

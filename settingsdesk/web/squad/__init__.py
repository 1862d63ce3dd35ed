"""Pages of the athletes and their settings."""

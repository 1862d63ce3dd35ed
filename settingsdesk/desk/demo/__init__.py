"""The invented demo club and its meet, put on an empty desk."""

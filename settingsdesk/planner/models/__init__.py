"""The search models, one for each kind of rotation, reading like the problem's definition."""

"""Today: what is asked for first when a coach comes into the hall."""

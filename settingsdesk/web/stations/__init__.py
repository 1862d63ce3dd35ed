"""The pages that volunteers' phones see, and those on which a coach opens stations."""

"""Lists that come in, a coach's own or the squad's come back, and the squad's way out."""

"""Lists that come in: a coach's own, or the squad's template come back."""

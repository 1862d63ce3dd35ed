"""Setting cards: what stands on one, issuing it, what its code opens, its holder's remarks."""

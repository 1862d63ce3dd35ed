"""Pages of checks, check lists, findings and parts."""

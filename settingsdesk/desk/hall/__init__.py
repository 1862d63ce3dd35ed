"""What stands in the hall: models, apparatus and how they stand now, calibrations, rule books."""

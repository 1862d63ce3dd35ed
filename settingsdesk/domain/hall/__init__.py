"""What stands in a hall: scales, geometry, models, calibration, square, rule books."""

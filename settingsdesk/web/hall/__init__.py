"""Pages of what stands in the hall: models, apparatus, calibrations, conversions, square aid."""

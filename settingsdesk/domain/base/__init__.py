"""What every other room speaks in: lengths, datums, kinds of apparatus, drawings, codes."""

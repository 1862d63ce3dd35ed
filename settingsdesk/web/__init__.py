"""The pages: one blueprint per room, forms, and the frame they share."""

"""What an athlete wants, and how it is carried to an apparatus."""

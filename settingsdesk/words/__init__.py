"""What strangers read, in their language: the catalogue, and how days and numbers are said."""

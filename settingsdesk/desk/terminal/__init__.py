"""Answers for whoever asks on the command line: as text and as JSON."""

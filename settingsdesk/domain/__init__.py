"""What the trade knows about setting the bars: pure Python, no framework, nothing of the other packages."""

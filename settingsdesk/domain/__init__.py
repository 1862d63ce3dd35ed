"""What the trade knows about setting the bars: pure Python, nothing of our other packages."""

"""Setting cards as PDF: symbol, code, drawing and text."""

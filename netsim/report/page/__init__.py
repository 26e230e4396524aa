"""The report as an HTML page."""

"""Searches how a kiln's own elements dry it within every limit; it knows walls, days and a controller, but no job."""

"""Which way to dry, by which schedule, and what a controller makes of it: everything that follows an assessment."""

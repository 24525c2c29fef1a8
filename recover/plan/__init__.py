"""The plan of a dry-out: ways compared, a searched schedule, programmes a controller can run, the firings after."""

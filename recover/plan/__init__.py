"""The plan: which way to dry, by which schedule, as programmes that a controller can run, and what comes after."""

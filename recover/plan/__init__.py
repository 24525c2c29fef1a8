"""The plan: which way to dry, by which schedule, as programmes that one controller can run, and what comes afterwards."""

"""The plan of a dry-out: ways compared, a searched schedule, programmes a controller can run, the firings after.

`planning` makes it of what `of_job` takes. What is stored and shown are plain values, and stand below what makes them:
`whole` joins those of `verify` (a schedule run on many draws), `strategies`, `programme`, `replacement` and `cards`.
`search` and `follow` find a schedule day by day (`walk`, `daily`, `march`); `compile` makes programmes of it.
"""

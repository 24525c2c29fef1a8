"""What water does in a kiln's lining: how much it holds, how long it stays, what it costs to drive it out.

Two ways to the answer that know nothing of each other: sums that can be checked by hand (`estimate`, of `uptake` and
`steady`), and the drying model (`staged` on `ensemble` on `drying` on `kernel`), to which `matter` gives its numbers.
"""

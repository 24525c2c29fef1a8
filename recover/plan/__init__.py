"""The plan of a job: paths from soaked to fired side by side, each day of the one to follow, the firings after it.

`planning` makes it of what `of_job` takes, and of nothing else. Each open path is run on few draws (`paths`: days from
`outside`, then of its `own` elements) and told by `compared`; the one to follow is run again on all of them, and
`criteria` and `days` tell of that run. What is stored and printed is in `whole`, plain values, by which nothing is
computed again. While it dries `log` tells how what was read lies to its day, `due` what is to be read, `answered` what
that means; what can be logged at all is in `kinds`.
"""

"""A job on the disk: what was said and when, which files it has, and what proves that they are the same still.

`lines` says what a line of the journal may hold, `journal` keeps the chain, `kept` the files, `evidence` takes a
picture in, `anchor` is the code by which a paper in other hands is held against the journal, `folder` opens it.
It knows countries (a job has one) and no question: what an answer means is read in `asked`. Whoever writes a file of a
job does it by `kept` and nowhere else.
"""

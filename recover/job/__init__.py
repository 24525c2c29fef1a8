"""A job on the disk: what was said and when, which files it has, and what proves that they are the same still.

`lines` says what a line of the journal may hold, `journal` keeps the chain; `kept` says which files there are and
proves them, `writing` puts them there, `mending` goes on after an interruption (`torn`: what is left of a line that
was cut off), `rescue` after a break; `evidence` takes a picture in, `anchor` is the code by which a paper in other
hands is held against the journal, `folder` opens it. It knows countries (a job has one) and no question: what an
answer means is read in `asked`. Whoever writes a file of a job does it by `writing` and nowhere else.
"""

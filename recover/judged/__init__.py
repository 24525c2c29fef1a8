"""What follows from the answers: what the water reached, what each component comes to, what opens a hold point.

`wetmap` puts a height to each component; `readings` says what measured ohms come to; `risen` whether insulation rose
without a reason; `outcomes` asks the rule tables, over all that may be where something is unknown; `admissible` says
which answers are evidence; `holds` which hold points are ready, released or ended; `assessment` is all of it together,
and what papers print; `dryout` what the lining may hold; `release` takes the signatures. A rule, a need, a notice is
data of `rules`, never code here.
"""

"""What is asked and what is known: the questionnaire, the answers replayed from the journal, the facts that follow.

`questionnaire/` holds the questions, a file to a section, and `facts.toml` what is judged from them. `questions` says
what both may hold, `compiled` reads and checks them, `said` reads what somebody typed. `told` holds what a journal
tells as values, `replay` says what of it stands, `components` of whom, `possible` what each answer may be, `facts` what
follows, `answers` what is known at a time, and what does not fit together. No component is judged here: that is for
`judged`, by `rules`. A new question goes into its section's file with the next free slate, a new fact into
`facts.toml`.
"""

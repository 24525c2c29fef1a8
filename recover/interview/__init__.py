"""Who is asked what, and what they typed.

The `engine` knows which question comes next and nothing of people. A sitting is three layers: the `scribe` writes down
what is said, meters and pictures, `asking` puts one question and says at once what its answer means, `session` is the
way through them all; `sittings` opens one. A prompter (`prompter`) speaks with whoever answers: at a `terminal`, by a
`script`, `from_form`. What a hold point lacks is asked by `missing`; an answer that can open nothing is told by
`no_use`. What is logged while a kiln dries is written by the `logbook`: asked in a `round`, typed as words of a command
(`log_words`), or read `from_logger`.

Nothing here decides: add a question in `asked/questionnaire/`, a way to answer as a prompter.
"""

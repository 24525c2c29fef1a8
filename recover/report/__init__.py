"""Telling: a plain view of an assessment, and the papers that are printed from it.

A paper is a view, joined from what its parts return; every sentence in it is one of `words.toml`, or of a card.
"""

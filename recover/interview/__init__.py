"""Asking: the engine knows the questions, the session keeps the answers, a prompter speaks with a person."""

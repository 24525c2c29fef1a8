"""The verbs of the command line: the only doors to click and rich.

Each reads what was typed, calls one room and prints what it returns; nothing is decided here. What is heavy is imported
inside a verb, so that `recover --help` comes at once.
"""

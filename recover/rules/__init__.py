"""Deciding: rule tables, hold points and notices, as cards with their sources. Knows names and judged facts only."""

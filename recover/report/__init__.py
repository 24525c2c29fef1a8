"""Telling: a plain view of an assessment, and the papers that are printed from it."""

"""Engineering of the kiln's electrical parts: supply, elements, leakage, thermocouples. Pure functions, no answers."""

"""Rehearsals: the real supervisor against a simulated furnace, faster than time."""

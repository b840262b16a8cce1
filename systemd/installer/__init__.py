"""The installer of a Pi: looks at what there is, says what it changes, changes it, and can take it back.

Standard library alone: it runs on the system's Python, before there is an environment. Each part looks first and
returns the changes that are wanted; with nothing to change it returns none, so that it can be run at any time.
"""

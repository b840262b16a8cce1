"""Our drawings of wiring and circuits: see `python -m tests.drawings`."""

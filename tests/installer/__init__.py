"""The installer in a clean Debian root: see `python -m tests.installer`."""

"""Copies of what is kept: backups of a data directory, and the record of one melt as a file of its own."""

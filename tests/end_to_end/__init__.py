"""Whole programs, as a person starts them."""

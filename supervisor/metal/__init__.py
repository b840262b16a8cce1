"""The metal: alloys, and what a charge is made of."""

"""What the supervisor believes about its furnace: a small model, learned from firings, and what follows from it."""

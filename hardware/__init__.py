"""What touches the furnace, real or simulated."""

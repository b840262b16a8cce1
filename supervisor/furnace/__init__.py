"""The equipment: what a furnace file says, and what its data sheets let one reckon."""

"""A furnace that is simulated down to the wire: plant, interlock, bus, pins, and the two hosts."""

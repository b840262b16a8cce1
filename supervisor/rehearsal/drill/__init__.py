"""Drills: faults and healthy hours on simulated furnaces, and how good the supervision is at them."""

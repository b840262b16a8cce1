"""Keeping a furnace honest for its life: sensor, element, lining, switchgear, and what is due. Pure but for `keeping`."""

"""Keeping a furnace honest for its life: sensor, element, lining, switchgear. Pure but for `keeping`."""

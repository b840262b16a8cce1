"""The pages: one module each. `BLUEPRINTS` is the list of them all, `menu.PAGES` what the menu shows."""

from flask import Blueprint

from web.pages import bench, equipment, first, melt, melts, metrics, model, now, pair, settings, strip

BLUEPRINTS: tuple[Blueprint, ...] = (
    now.now,
    melts.melts,
    melt.melt,
    strip.strip,
    model.model,
    equipment.equipment,
    first.first,
    pair.pair,
    settings.settings,
    metrics.metrics,
)
"""What is there for every furnace."""

BENCH = bench.bench
"""What is there for a simulated furnace alone."""

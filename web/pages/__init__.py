"""The pages: one module each. `BLUEPRINTS` is the list of them all, `menu.PAGES` what the menu shows."""

from flask import Blueprint

from web.pages import (
    adding,
    back,
    bench,
    best,
    board,
    entries,
    equipment,
    first,
    keeping,
    look_back,
    lots,
    melt,
    melts,
    metal,
    metrics,
    model,
    notices,
    now,
    pair,
    photos,
    plan,
    pour,
    profiles,
    settings,
    size,
    strip,
    why,
)

BLUEPRINTS: tuple[Blueprint, ...] = (
    now.now,
    pour.pour,
    why.why,
    back.back,
    notices.notices,
    best.best,
    plan.plan,
    profiles.profiles,
    lots.lots,
    melts.melts,
    look_back.look_back,
    melt.melt,
    keeping.keeping,
    entries.entries,
    metal.metal,
    photos.photos,
    adding.adding,
    strip.strip,
    model.model,
    equipment.equipment,
    size.size,
    board.board,
    first.first,
    pair.pair,
    settings.settings,
    metrics.metrics,
)
"""What is there for every furnace."""

BENCH = bench.bench
"""What is there for a simulated furnace alone."""

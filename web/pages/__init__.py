"""The pages: one module each, and here the list of them all, in the order of the menu."""

from typing import NamedTuple

from flask import Blueprint

from web.pages import bench, first, melt, melts, now, pair, settings, strip


class Page(NamedTuple):
    """A row of the menu: name of its module, title, address."""

    name: str
    title: str
    path: str


PAGES = (
    Page("now", "Furnace now", "/"),
    Page("melts", "Melts", "/melts"),
    Page("first", "Cautions", "/first"),
    Page("pair", "Pair", "/pair"),
    Page("settings", "Settings", "/settings"),
)

BLUEPRINTS: tuple[Blueprint, ...] = (
    now.now,
    melts.melts,
    melt.melt,
    strip.strip,
    first.first,
    pair.pair,
    settings.settings,
)
"""Everything that is there for every furnace. `bench.bench` is added for a simulated one alone."""

BENCH = bench.bench

"""The menu: a row for each page that people open from it, in order."""

from typing import NamedTuple


class Page(NamedTuple):
    """A row of the menu: name of its module, title, address."""

    name: str
    title: str
    path: str


PAGES = (
    Page("now", "Furnace now", "/"),
    Page("plan", "Plan a melt", "/plan"),
    Page("melts", "Melts", "/melts"),
    Page("metal", "Metal", "/metal"),
    Page("model", "Model", "/model"),
    Page("equipment", "Equipment", "/equipment"),
    Page("size", "Size", "/size"),
    Page("first", "Cautions", "/first"),
    Page("pair", "Pair", "/pair"),
    Page("settings", "Settings", "/settings"),
)

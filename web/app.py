"""Joins the parts of the pages. The only place that does."""

from flask import Flask

from supervisor.link.client import Link
from supervisor.link.cold import is_cold
from web.access import guard
from web.asking import Asking
from web.audit import Audit
from web.bench import Bench
from web.book import Book
from web.config import WebConfig
from web.drawing import Drawer, add_words
from web.equipment import Equipment
from web.feed import Feed
from web.files import add_files
from web.forecasts import Forecasts
from web.live import live
from web.once import write_once
from web.pages import BENCH, BLUEPRINTS
from web.parts import Parts
from web.telling import Teller

LONGEST_BODY = 256 * 1024


def create_app(config: WebConfig) -> Flask:
    """Make the application of one furnace; it begins to read the link at once.

    Raises:
        sqlite3.Error: the book cannot be opened.
    """
    app = Flask(__name__, static_folder=None, template_folder="templates")
    app.config["MAX_CONTENT_LENGTH"] = LONGEST_BODY
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True
    add_words(app.jinja_env)
    link = Link(config.link)
    feed = Feed(link, config.monotonic_s)
    bench = Bench(config.bench) if config.bench else None
    book = Book(config.book, lambda: is_cold(config.data, config.utc_ms()))
    audit = Audit(book, config.utc_ms, config.monotonic_s)
    drawer = Drawer(app.jinja_env, feed, config, bench)
    told = Equipment(link), Forecasts(link, config.monotonic_s)
    app.extensions["meltkeeper"] = Parts(
        config, feed, drawer, Teller(feed, drawer), Asking(link), book, audit, bench, *told
    )
    guard(app, config, book, audit)
    add_files(app)
    for blueprint in (live, *BLUEPRINTS, *([BENCH] if bench else [])):
        app.register_blueprint(blueprint)
    write_once(app)
    feed.start()
    audit.start()
    return app

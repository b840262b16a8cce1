"""Draws the live parts of the pages: once for all phones that want the same, as HTML, for page and stream alike."""

from collections.abc import Callable
from threading import Lock
from typing import Any, TypeVar

from jinja2 import Environment

from supervisor.alarms.cautions import Caution, cautions
from supervisor.alarms.rhythm import BURSTS
from supervisor.example import mark
from supervisor.logbook.reading import Firing
from web import words
from web.bench import Bench
from web.config import WebConfig
from web.feed import Feed, Moment
from web.history import cut
from web.moulds import Planned, following, free, planned
from web.profiles import ProfileFile, profile_files
from web.rounds import Round, rounds
from web.view import Reader, View

LOOK_AGAIN_S = 2.0  # at the profile folder
ROUNDS_AGAIN_S = 15.0  # at the book: nothing in it is sooner due
NOW = ("who", "head", "signs", "back", "acts", "cut", "figs", "asks", "levers", "doing", "tb", "stop")
OTHER = ("who", "oneline", "foot")
REGIONS = {"now": NOW, "pour": ("who", "pour", "stop"), "why": (*OTHER, "why")}
"""The live parts of each page that has its own; all the others have OTHER."""

T = TypeVar("T")


def add_words(env: Environment) -> None:
    """Teach the templates how numbers are said."""
    for name in (
        "degrees",
        "temperature",
        "about",
        "band",
        "difference",
        "in_units",
        "unbroken",
        "duration",
        "how_soon",
        "energy",
        "mass",
        "hour",
        "second",
        "day",
    ):
        env.filters[name] = getattr(words, name)
    env.filters["free"], env.filters["following"] = free, following
    env.globals["bursts"] = {str(priority): list(burst) for priority, burst in BURSTS.items()}


class Drawer:
    """Views and their parts. Threads share it; what one has drawn the next one takes."""

    def __init__(self, env: Environment, feed: Feed, config: WebConfig, bench: Bench | None):
        self._env = env
        self._feed = feed
        self._config = config
        self._bench = bench
        self._lock = Lock()
        self._drawn: dict[tuple[str, Reader, str], str] = {}
        self._drawn_for: tuple[int, bool] = (-1, False)
        self._positions: tuple[float, dict[str, Any]] = (float("-inf"), {})
        self._profiles: tuple[float, tuple[ProfileFile, ...]] = (float("-inf"), ())
        self._moulds: tuple[float, tuple[Planned, ...]] = (float("-inf"), ())
        self._rounds: tuple[float, tuple[Round, ...]] = (float("-inf"), ())
        self._cut: tuple[float, Firing | None] = (float("-inf"), None)
        self._start, self._hands = cautions("before_start"), _hands()

    def view(self, reader: Reader, moment: Moment | None) -> View:
        """What there is to see now, for one reader."""
        return View(
            moment,
            self._feed.age_s(moment) if moment else float("inf"),
            reader,
            self._feed.trouble,
            self.profiles(),
            self._look_at_bench() if self._bench else None,
            self._moulds_of(moment),
            self._rounds_now(),
            self._cut_of(moment),
        )

    def regions(self, view: View, page: str) -> dict[str, str]:
        """The live parts of a page as HTML, by name."""
        names = REGIONS.get(page, OTHER)
        if page == "now" and view.bench is not None:
            names = (*names, "bench")
        with self._lock:
            now = (view.moment.number if view.moment else 0, view.simulated)
            if self._drawn_for != now:
                self._drawn.clear()
                self._drawn_for = now
            return {name: self._draw(name, view) for name in names}

    def _draw(self, name: str, view: View) -> str:
        key = (name, view.reader, view.staleness)
        if key not in self._drawn or not view.known or name == "bench":
            template = self._env.get_template(f"regions/{name}.html")
            made = None if view.known else mark.read(self._config.data)  # its furnace comes last
            drawn = template.render(view=view, made=made, cautions_start=self._start, cautions_hands=self._hands)
            self._drawn[key] = drawn.strip()
        return self._drawn[key]

    def profiles(self) -> tuple[ProfileFile, ...]:
        """The profile files, looked at anew every few seconds."""
        self._profiles = self._fresh(
            self._profiles, LOOK_AGAIN_S, lambda: profile_files(self._config.examples, self._config.own_profiles)
        )
        return self._profiles[1]

    def _look_at_bench(self) -> dict[str, Any]:
        bench = self._bench
        assert bench is not None
        self._positions = self._fresh(self._positions, 0.5, bench.positions)
        return self._positions[1]

    def _moulds_of(self, moment: Moment | None) -> tuple[Planned, ...]:
        """The moulds of the melt in the pot: looked at on its way to the pour alone."""
        if moment is None or moment.snapshot["pour"]["stage"] == "none":
            return ()
        number = moment.snapshot["heat_number"]
        self._moulds = self._fresh(self._moulds, LOOK_AGAIN_S, lambda: planned(self._config, number))
        return self._moulds[1]

    def _cut_of(self, moment: Moment | None) -> Firing | None:
        """The firing that was cut: looked for in the log until the reset alone."""
        if moment is None or moment.snapshot["aftermath"] is None:
            return None
        snapshot = moment.snapshot
        self._cut = self._fresh(self._cut, LOOK_AGAIN_S, lambda: cut(self._config.data, snapshot))
        return self._cut[1]

    def _rounds_now(self) -> tuple[Round, ...]:
        self._rounds = self._fresh(self._rounds, ROUNDS_AGAIN_S, lambda: rounds(self._config))
        return self._rounds[1]

    def look_again(self) -> None:
        """Somebody moved a lever of the bench, or wrote into the record of a melt: what is kept is old."""
        self._positions, self._rounds = (float("-inf"), {}), (float("-inf"), ())

    def _fresh(self, kept: tuple[float, T], good_for_s: float, look: Callable[[], T]) -> tuple[float, T]:
        now_s = self._config.monotonic_s()
        return kept if now_s - kept[0] < good_for_s else (now_s, look())


def _hands() -> tuple[Caution, ...]:
    """The cautions for hands at the furnace: lid, charge, pour; each once."""
    found = {caution.id: caution for moment in ("lid", "charge", "pour") for caution in cautions(moment)}
    return tuple(found.values())

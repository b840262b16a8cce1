"""What the live parts of a page show, worked out once from a snapshot, its age and its reader.

The supervisor knows; this only says it. Old numbers look old: over 3 s they are pale, over 10 s the page is old and
promises and prompts are withdrawn, over 30 s the numbers go.
"""

from dataclasses import dataclass
from typing import Any, NamedTuple

from supervisor.link.client import day_word
from supervisor.logbook.reading import Firing
from web import words
from web.ahead import Row, rows
from web.book import Units
from web.feed import Moment
from web.moulds import Planned, Seen, row
from web.pot import LIVE_STATES, may_dip, not_to_add, pot_of
from web.rounds import Round, Walk, due, quiet
from web.rounds import headline as of_rounds
from web.signs import Sign, sign_of, sound_of
from web.why import Why, answers

PALE_S, OLD_S, GONE_S = 3.0, 10.0, 30.0
MOST_ACTS = 3


class Reader(NamedTuple):
    """For whom it is drawn: parts are made once for all phones that want the same."""

    units: Units
    runs: bool  # their phone is paired to run the furnace


@dataclass(frozen=True, slots=True)
class View:
    """One drawing. `s` is the snapshot; None while the supervisor has never answered."""

    moment: Moment | None
    age_s: float
    reader: Reader
    trouble: str  # why the link is silent
    profiles: tuple[Any, ...]  # what can be prepared
    bench: dict[str, Any] | None  # positions of the simulated furnace's levers; None: no bench
    moulds: tuple[Planned, ...] = ()  # of this melt's plan
    rounds: tuple[Round, ...] = ()  # what melts that are over still ask for
    cut: Firing | None = None  # of which the furnace speaks before a reset; its curve is shown

    @property
    def s(self) -> dict[str, Any]:
        """The snapshot."""
        assert self.moment is not None
        return self.moment.snapshot

    @property
    def units(self) -> Units:
        """°C or °F."""
        return self.reader.units

    @property
    def known(self) -> bool:
        """The supervisor has spoken at least once."""
        return self.moment is not None

    @property
    def old(self) -> bool:
        """Nothing here may be relied on any more."""
        return not self.known or self.age_s > OLD_S

    @property
    def staleness(self) -> str:
        """'' fresh, 'pale', 'old', 'gone'."""
        if not self.known or self.age_s > GONE_S:
            return "gone"
        return "old" if self.age_s > OLD_S else "pale" if self.age_s > PALE_S else ""

    @property
    def tone(self) -> str:
        """How the headline is set."""
        return "blind" if self.old else str(self.headline["tone"])

    @property
    def headline(self) -> dict[str, Any]:
        """The supervisor's, or what the book asks for while the furnace itself asks for nothing."""
        said: dict[str, Any] = self.s["headline"]
        return (self.reads and quiet(self.s) and of_rounds(self.rounds, self.walk, self.s["hot_junction"]["c"])) or said

    @property
    def walk(self) -> tuple[Round, Walk] | None:
        """The walk of the fire watch that is due now."""
        now_ms = None if self.old else self.at_utc_ms(0.0)
        return None if now_ms is None else due(self.rounds, now_ms)

    @property
    def looks_only(self) -> bool:
        """Another regulator heats: nothing here starts or stops the heat."""
        return self.known and bool(self.s["furnace"].get("looks_only"))

    @property
    def live(self) -> bool:
        """A firing is on."""
        return self.known and self.s["state"] in LIVE_STATES

    @property
    def heat_possible(self) -> bool:
        """Whether a stop may have something to do: every page then carries it."""
        return self.old or self.s["heat"]["off"] != "proved"

    @property
    def waits_for_word(self) -> bool:
        """The profile waits for a person to say go on."""
        return self.live and "word" in (self.s["profile"]["waits_for"] or "")

    def may(self, name: str) -> bool:
        """The command is allowed now, by the snapshot, to this reader."""
        if self.old or not (self.reader.runs or name in {"stop", "lower"}):
            return False
        return bool(self._command(name).get("allowed"))

    def may_note(self, kind: str) -> bool:
        """A note of this kind is allowed now, to this reader."""
        return self.may("note") and any(note["kind"] == kind and note["allowed"] for note in self.s["notes"])

    @property
    def takes_metal(self) -> bool:
        """Metal may go into the pot, as far as the furnace goes, and this reader may write it down."""
        return self.may_note("addition") and not not_to_add(self.s)

    @property
    def takes_a_dip(self) -> bool:
        """A dip may be written down."""
        return self.may_note("dip reading") and may_dip(self.s)

    def why_not(self, name: str) -> str:
        """The supervisor's reason against a command."""
        return str(self._command(name).get("why", ""))

    def _command(self, name: str) -> dict[str, Any]:
        return next((command for command in self.s["commands"] if command["name"] == name), {})

    @property
    def hold_c(self) -> float | None:
        """Where a hold would stay: the lowest of setpoint, reading and the metal's target."""
        target = self.s["profile"]["target_c"] if self.s["profile"] else None
        known = [c for c in (self.s["setpoint_c"], self.s["hot_junction"]["c"], target) if c is not None]
        return min(known, default=None)

    @property
    def alarms(self) -> list[dict[str, Any]]:
        """The alarms, the most urgent in sight first; what only followed comes last."""
        return sorted(
            self.s["alarms"],
            key=lambda alarm: (alarm["folded"], alarm["priority"], alarm["act_within_s"], not alarm["first_out"]),
        )

    @property
    def told(self) -> list[dict[str, Any]]:
        """The alarms that stand for themselves."""
        return [alarm for alarm in self.alarms if not alarm["folded"]] or self.alarms

    @property
    def followers(self) -> list[dict[str, Any]]:
        """The alarms that followed from another."""
        return [alarm for alarm in self.alarms if alarm not in self.told]

    @property
    def acts(self) -> list[dict[str, Any]]:
        """At most three alarms that ask for an act, each act once."""
        first = {alarm["act"]: alarm for alarm in reversed(self.told) if alarm["act"]}
        return [alarm for alarm in self.told if first.get(alarm["act"]) is alarm][:MOST_ACTS]

    @property
    def unseen(self) -> bool:
        """An alarm stands that nobody has acknowledged."""
        return any("unacknowledged" in alarm["state"] for alarm in self.s["alarms"])

    @property
    def sound(self) -> dict[str, Any] | None:
        """What the page lets a person hear: see web.signs."""
        return sound_of(self.s)

    @property
    def missing(self) -> int:
        """How many conditions of heat do not hold."""
        return len([permissive for permissive in self.s["permissives"] if not permissive["met"]])

    @property
    def speaking(self) -> list[dict[str, Any]]:
        """The watches that have something to say."""
        return list(self.s["watches"]["speak"])

    @property
    def metal(self) -> dict[str, Any] | None:
        """The melt estimate, where there is one to show: not on an old page, and not with a doubt."""
        metal: dict[str, Any] | None = self.s["metal"]
        return None if self.old or metal is None or metal["doubt"] else metal

    @property
    def doubt(self) -> str:
        """Why the supervisor does not know of the metal; empty: it knows, or there is nothing to know."""
        return str(self.s["metal"]["doubt"]) if self.s["metal"] else ""

    @property
    def pot(self) -> str:
        """What the drawing of the pot shows: see web.pot."""
        return "unknown" if self.old else pot_of(self.s, self.metal, live=self.live)

    @property
    def back_utc_ms(self) -> int | None:
        """The hour to be back by; None: none is promised, or no clock is to be trusted."""
        back = self.s["be_back"]
        return None if self.old or back["within_min"] is not None else self.at_utc_ms(back["in_s"])

    @property
    def mould_row(self) -> list[Seen]:
        """The moulds as the pour screen draws them."""
        return row(self.moulds, self.s["pour"]["moulds"])

    @property
    def whys(self) -> list[Why]:
        """What each number and refusal rests on."""
        return answers(self.s, age_s=self.age_s)

    @property
    def ahead(self) -> list[Row]:
        """What comes, the next first; nothing while no firing is on."""
        if self.old or not self.live or self.s["firing"] is None:
            return []
        return rows(self.s, self.metal, lambda in_s: words.hour(self.at_utc_ms(in_s)))

    def sentence(self, text: str) -> str:
        """A part of the headline as this reader reads it: with the hour it names, in the unit of their choice."""
        at_ms, now_ms = self.at_utc_ms(self.s["headline"]["in_s"]), self.at_utc_ms(0.0) or 0
        day = "" if at_ms is None else day_word(now_ms / 1000, at_ms / 1000)
        return words.in_units(text.replace("{hour}", words.hour(at_ms)).replace("{day}", day), self.units)

    @property
    def next_sign(self) -> str:
        """When the next sign is due, as the headline says it."""
        h = self.s["headline"]
        hour = words.hour(self.at_utc_ms(h["next_sign_in_s"]))
        return words.in_units(str(h["next_sign"]).replace("{hour}", hour), self.units)

    def said_already(self, why: str) -> bool:
        """The headline says this reason, or its first sentence, itself."""
        reason = why.removeprefix("Stay: ").split(". ")[0].rstrip(".")
        return bool(reason) and reason in self.s["headline"]["after"]

    @property
    def sign(self) -> Sign:
        """The sign that somebody is there."""
        return sign_of(self.s, lambda in_s: words.hour(self.at_utc_ms(in_s)))

    def seconds_left(self, until_s: float) -> int:
        """Process time until a moment of the snapshot's clock, never negative."""
        return int(max(0.0, until_s - self.s["monotonic_s"]))

    @property
    def begun_utc_ms(self) -> int | None:
        """When the firing began."""
        begun: int | None = (self.s["firing"] or {}).get("started_utc_ms")
        return begun

    def at_utc_ms(self, in_s: float | None) -> int | None:
        """The hour so many seconds after the snapshot, on the furnace's own clock: a simulated one may go faster."""
        if in_s is None:
            return None
        begun = self.begun_utc_ms
        now_ms = self.s["utc_ms"] if begun is None else begun + self.s["firing"]["elapsed_s"] * 1000
        return int(now_ms + in_s * 1000)

    @property
    def gate_in_s(self) -> float | None:
        """How long until the gate asks, if the supervisor says so."""
        in_s: float | None = self.s["gate"]["in_s"]
        return in_s if self.live else None

    @property
    def reads(self) -> bool:
        """There is a reading, of now."""
        hot = self.s["hot_junction"]
        return hot["c"] is not None and (hot["fault"] is None or hot["age_s"] <= PALE_S)

    @property
    def simulated(self) -> bool:
        """No real furnace is watched here."""
        return self.known and self.s["furnace"]["backend"] == "simulated"

    @property
    def pot_kg(self) -> float | None:
        """Metal in the simulated pot; None where there is no bench to look at."""
        kg: float | None = (self.bench or {}).get("metal_kg")
        return kg

    @property
    def pace(self) -> float | None:
        """How many times as fast as time the simulated furnace runs."""
        pace = (self.bench or {}).get("pace")
        return float(pace) if pace else None

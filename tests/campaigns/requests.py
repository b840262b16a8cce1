"""`python -m tests.campaigns.requests`: wrong requests by the thousand. None heats, none starts, none breaks a page.

Behind the pages stands a real supervisor on a simulated furnace, in virtual time, ready to be started or held and ready
to go on: a hole anywhere would heat. A stop and a lowering are taken, as from anybody; the furnace is then made ready
again.
"""

import json
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import click
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st

from hardware.clock import monotonic_s, utc_ms
from supervisor.book import lots
from supervisor.book.moulds import add_mould
from supervisor.book.writing import FILE_NAME, open_book
from supervisor.firing.states import State
from tests.browser.at_work import AtWork
from tests.supervisor.furnace_at_hand import FurnaceAtHand, bake, furnace_at_hand
from tests.web.wrong_requests import SITES, Request, Wrong, asked_rules, to, to_heat
from web.app import create_app
from web.config import WebConfig
from web.pairing import digest
from web.parts import Parts

TURN_S = 0.01
HOST = "localhost:8080"
ORIGIN = f"http://{HOST}"
TOKENS = {"run": "r" * 43, "look": "l" * 43, "revoked": "v" * 43}
READY, HELD = State.IDLE, State.HELD


class Broken(AssertionError):
    """A request did what none of them may do."""


class Furnace:
    """The pages on a supervisor at work, and whether anything heated that must not."""

    def __init__(self, data: Path, wanted: State) -> None:
        self.wanted = wanted
        self.work = AtWork(_cold, data, turn_s=TURN_S, publish_every=20)
        self.app = create_app(
            WebConfig(data, 8080, monotonic_s, utc_ms, tuple(sorted(Path("docs/examples").glob("*.toml"))))
        )
        self.parts: Parts = self.app.extensions["meltkeeper"]
        with open_book(data / FILE_NAME, who="a test", sent_from="page", utc_ms=utc_ms()) as book:
            lots.add(
                book, 2.4, form="solid_offcut", origin="plate", alloy_name="6082", certainty="marked", surface="bare"
            )
            add_mould(book, "tray", 600.0)
        self.arm()

    @property
    def hand(self) -> FurnaceAtHand:
        """The furnace and its supervisor."""
        return self.work.hand

    def close(self) -> None:
        self.parts.feed.close()
        self.parts.audit.close()
        self.work.close()

    def arm(self) -> None:
        """Make ready what a hole would make use of: a prepared firing, or one that is held."""
        self.work.do(self._ready)
        for role, token in TOKENS.items():
            if self.parts.book.phone_with(digest(token)) is None and role != "revoked":
                self.parts.book.add_phone(
                    f"phone to {role}", "look" if role == "look" else "run", digest(token), utc_ms()
                )

    def _ready(self, hand: FurnaceAtHand) -> None:
        if self.wanted is HELD or hand.state not in {State.STOPPED, State.IDLE}:
            self.work.hand = hand = _cold()
        if self.wanted is READY:
            hand.prepare(bake(to_c=400.0))
        else:
            hand.start(bake(to_c=400.0))
            hand.wait(60.0)
            hand.hold()
            hand.run_until(lambda: hand.state is HELD, 10.0)
        self.setpoint_c = hand.shown()["setpoint_c"]

    def check(self, request: Request) -> None:
        """Raises Broken when the furnace heats, starts, or may become hotter than it was allowed to."""
        hand = self.hand
        state, relay = hand.state, bool(hand.outputs and hand.outputs.relay)
        if state in {State.STARTING, State.RUNNING} or (self.wanted is READY and relay):
            raise Broken(f"{state}, relay {relay} after {request}")
        setpoint_c = hand.shown()["setpoint_c"]
        if self.setpoint_c is not None and setpoint_c is not None and setpoint_c > self.setpoint_c + 0.01:
            raise Broken(f"setpoint {setpoint_c} above {self.setpoint_c} after {request}")
        if state is not self.wanted or self.parts.book.phone_with(digest(TOKENS["run"])) is None:
            self.arm()

    def true_form(self, right: str, beside: int) -> dict[str, str]:
        """The form of a command that would be taken, but for its epoch."""
        hand = self.hand
        epoch = str(hand.epoch + beside)
        if right == "start" and hand.memory.firing.prepared is not None:
            command = hand.start_command()
            echo = {name: str(getattr(command, name)) for name in ("profile", "top_c", "longest_s", "allowance_wh")}
            return {**echo, "epoch": epoch, "cautions_read": "yes"}
        return {
            "epoch": epoch,
            **({"by_k": "20"} if right == "raise" else {"kind": "go on"} if right == "note" else {}),
        }


def _cold() -> FurnaceAtHand:
    hand = furnace_at_hand("workshop", seed=1)
    hand.wait(1.0)
    return hand


def send(furnace: Furnace, request: Request) -> int:
    """Send it; the status."""
    client = furnace.app.test_client()
    wrong = request.wrong
    token = {Wrong.LOOKS: TOKENS["look"], Wrong.REVOKED: TOKENS["revoked"], Wrong.NOBODY: ""}.get(wrong, TOKENS["run"])
    if token:
        client.set_cookie("meltkeeper-8080", token, domain="localhost")
        client.set_cookie("meltkeeper-8080-read", "yes", domain="localhost")
    origin = SITES[request.epoch % len(SITES)] if wrong is Wrong.CROSS_SITE else ORIGIN
    form = list(request.form)
    if request.right:  # an unpaired or foreign page may even know the true epoch
        beside = request.epoch if wrong in {Wrong.STALE, Wrong.REPLAYED} else 0
        form = [*furnace.true_form(request.right, beside).items(), *form]
    else:
        form = [(name, value if name != "epoch" else str(furnace.hand.epoch + request.epoch)) for name, value in form]
    body: dict[str, Any] = (
        {"data": request.raw, "content_type": request.kind} if request.raw is not None else {"data": _form(form)}
    )
    answer = client.open(
        request.path,
        method=request.method,
        base_url=ORIGIN,
        headers=[("Origin", origin), *request.headers],
        environ_overrides={"REMOTE_ADDR": request.address},
        **body,
    )
    answer.get_data()
    return answer.status_code


def _form(fields: list[tuple[str, str]]) -> dict[str, list[str]]:
    form: dict[str, list[str]] = {}
    for name, value in fields:
        form.setdefault(name, []).append(value)
    return form


@contextmanager
def ready(wanted: State) -> Iterator[Furnace]:
    """A furnace behind pages."""
    with tempfile.TemporaryDirectory() as place:
        furnace = Furnace(Path(place), wanted)
        try:
            yield furnace
        finally:
            furnace.close()


def campaign(count: int, first_seed: int) -> Counter[str]:
    """Send so many, half of them to a furnace that is ready, half to one that is held; statuses and kinds, counted.

    Raises:
        Broken: one heated, started, or was answered by an error of ours.
    """
    told: Counter[str] = Counter()
    for part, wanted in enumerate((READY, HELD)):
        with ready(wanted) as furnace:
            each, rules = (count + 1 - part) // 2, asked_rules(furnace.app)
            _send_many(furnace, to_heat(), each // 2, first_seed, told)
            for number, rule in enumerate(rules):  # one after the other: drawn by lot, most would never be asked
                _send_many(furnace, to(rule), -(-each // (2 * len(rules))), first_seed + number, told)
            told["routes"] = len(rules)
    return told


def _send_many(
    furnace: Furnace, wrong: st.SearchStrategy[Request], count: int, first_seed: int, told: Counter[str]
) -> None:
    @seed(first_seed)
    @settings(
        max_examples=count,
        deadline=None,
        database=None,
        phases=(Phase.generate,),
        suppress_health_check=list(HealthCheck),
    )
    @given(wrong)
    def one(request: Request) -> None:
        for _ in range(2 if request.wrong is Wrong.REPLAYED else 1):
            status = send(furnace, request)
            told[f"status {status // 100}xx"] += 1
            told[request.wrong.value] += 1
            if status >= 500:
                raise Broken(f"status {status} for {request}")
            furnace.check(request)

    one()


@click.command()
@click.option("--requests", "count", type=click.IntRange(min=2), default=10_000, show_default=True)
@click.option("--seed", type=int, default=1, show_default=True)
@click.option("--json", "as_json", is_flag=True)
def main(count: int, seed: int, as_json: bool) -> None:
    """Send wrong requests to pages with a furnace that is ready to be started, and to one that is ready to go on."""
    try:
        told = campaign(count, seed)
    except Broken as broken:
        click.echo(str(broken), err=True)
        sys.exit(1)
    report = {"requests": sum(n for name, n in told.items() if name.startswith("status")), "heated": 0, **told}
    click.echo(
        json.dumps(report, ensure_ascii=False) if as_json else "\n".join(f"{n:>8} {name}" for name, n in report.items())
    )


if __name__ == "__main__":
    main()

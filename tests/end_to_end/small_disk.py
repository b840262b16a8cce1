"""Run in a namespace of its own: `unshare --user --map-root-user --mount python -m tests.end_to_end.small_disk DIR`.

A disk of six megabytes is mounted on DIR. Log and book are on it when it runs full, when it can only be read, and when
there is room again. What is on disk then, and which page failed, is printed as JSON.
"""

import contextlib
import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

from flask import Flask

from hardware.clock import monotonic_s, sleep_s, utc_ms
from supervisor.logbook import scribe as scribe_module
from supervisor.logbook.scribe import Scribe
from supervisor.logbook.verifying import verify
from supervisor.refusal import InputRefused
from tests.supervisor.book.shop import Shop, story
from tests.supervisor.logbook import count, event, opened, sample, samples, scribe_of
from web.app import create_app
from web.config import WebConfig

DISK_KB = 6000
NUMBERS = {"firing_id": 1, "heat_number": "A-094", "name": "A-094-1", "what": "count", "number": 1, "version": 1}


def mount(*words: str) -> None:
    subprocess.run(["mount", *words], check=True)


def wait(scribe: Scribe, happened: Callable[[], bool]) -> bool:
    """Whether it happened within 20 s."""
    until_s = monotonic_s() + 20.0
    while not happened() and monotonic_s() < until_s:
        sleep_s(0.02)
    return happened()


def fill(file: Path) -> None:
    """Until nothing fits any more."""
    with file.open("wb", buffering=0) as filler, contextlib.suppress(OSError):
        while True:
            filler.write(bytes(4096))


def failing_pages(app: Flask, paths: list[str]) -> dict[str, str]:
    """Every page that ends in an error of the program, and which."""
    failed: dict[str, str] = {}
    for path in paths:
        try:
            answer = app.test_client().get(path, base_url="http://localhost:8080", buffered=False)
            if answer.status_code >= 500 and answer.status_code != 503:
                failed[path] = str(answer.status_code)
            answer.close()
        except Exception as error:  # noqa: BLE001 - told, and fails the test
            failed[path] = f"{type(error).__name__}: {error}"
    return failed


def paths(app: Flask) -> list[str]:
    """An address for each page that is read and comes to an end."""
    with app.test_request_context(base_url="http://localhost:8080"):
        rules = [rule for rule in app.url_map.iter_rules() if "GET" in (rule.methods or ()) and "live" not in rule.rule]
        known = [rule for rule in rules if rule.arguments <= set(NUMBERS)]
        adapter = app.url_map.bind("localhost:8080")
        return [adapter.build(rule.endpoint, {name: NUMBERS[name] for name in rule.arguments}) for rule in known]


def main(data: Path) -> None:
    """Go through it."""
    mount("-t", "tmpfs", "-o", f"size={DISK_KB}k", "none", str(data))
    told: dict[str, Any] = {}
    with scribe_of(data, threaded=True) as scribe:
        scribe.put([opened(1, heat_number="A-094"), *samples(60)])
        story(Shop(data))
        app = create_app(WebConfig(data, 8080, monotonic_s, utc_ms))
        app.testing = True
        pages = paths(app)
        told["pages"] = len(pages)
        told["sound"] = failing_pages(app, pages)
        last = scribe.put([event(60_000, 1, at="sound")])
        wait(scribe, lambda: scribe.committed >= last)

        (data / "ballast").unlink()
        fill(data / "filler")
        last = scribe.put([sample(61_000), event(61_000, 1, at="full", text="x" * 100_000)])
        wait(scribe, lambda: scribe.trouble is not None)
        told["full"] = scribe.trouble
        told["full_waits"] = scribe.committed < last
        told["full_pages"] = failing_pages(app, pages)
        (data / "filler").unlink()
        told["room_again"] = wait(scribe, lambda: scribe.committed >= last)
        told["trouble_left"] = scribe.trouble

    mount("-o", "remount,ro", str(data))  # refused by the system while a file is open for writing
    told["read_only_pages"] = failing_pages(app, pages)
    told["read_only_start"] = failing_pages(create_app(app.extensions["meltkeeper"].config), pages[:1])
    try:
        with scribe_of(data):
            told["read_only_refused"] = ""
    except InputRefused as refused:
        told["read_only_refused"] = str(refused)
    mount("-o", "remount,rw", str(data))
    with scribe_of(data) as scribe:
        last = scribe.put([event(62_000, 1, at="sound again")])
        told["written_again"] = scribe.committed >= last

    fill(data / "filler")
    scribe_module.ROOM_EVERY_S = 0.05
    with scribe_of(data, threaded=True) as scribe:  # as a supervisor begins that ended on a full disk, the furnace hot
        told["full_start"] = scribe.trouble
        last = scribe.put([sample(63_000), event(63_000, 1, at="begun on a full disk")])
        told["full_start_written"] = wait(scribe, lambda: scribe.committed >= last)
        (data / "filler").unlink()
        told["room_seen"] = wait(scribe, lambda: (scribe.free_mb or 0.0) > 3.0)
    (data / "ballast").unlink(missing_ok=True)
    fill(data / "filler")
    try:
        with scribe_of(data):
            told["no_byte_refused"] = ""
    except InputRefused as refused:
        told["no_byte_refused"] = str(refused)
    (data / "filler").unlink()
    told["events"] = count(data, "event WHERE kind = 'note'")
    told["fault"] = verify(data).fault
    print(json.dumps(told, indent=1))  # noqa: T201 - what the test reads


if __name__ == "__main__":
    main(Path(sys.argv[1]))

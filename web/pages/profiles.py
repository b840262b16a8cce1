"""Profiles: each as sentences and a picture, changed by taps, saved as a file of the data directory.

A draft lives in the address alone and is judged by the supervisor each time it is shown; only *save* writes. A profile
that ships with the program is never altered: saving makes a copy. A firing keeps the text that it began with.
"""

import re
from collections.abc import Sequence
from typing import Any, NamedTuple
from uuid import uuid4

from flask import Blueprint, Response, request

from supervisor.metal.alloys import UNKNOWN, table
from supervisor.refusal import InputRefused
from web.access import role, who
from web.asking import Answer
from web.draft import CHARGE, HEAD, KINDS, UNITS, UNTIL, Draft, Segment, changed, from_form, from_text
from web.drawing_profile import Picture, picture
from web.kept_profiles import kept, save
from web.pages.show import last_answer, page
from web.parts import parts
from web.pot import LIVE_STATES
from web.profiles import ProfileFile, profile_files
from web.replies import go_to
from web.roles import looks, runs

profiles = Blueprint("profiles", __name__)

_PLACE = re.compile(r"^profile: ")
_SEGMENT = re.compile(r"segment\[(\d+)\]")


class Row(NamedTuple):
    """One segment on the page. trouble: what stands against it; empty: nothing."""

    number: int
    segment: Segment
    sentence: str
    trouble: str


class Judged(NamedTuple):
    """A draft and what the supervisor says of it."""

    toml: str
    trouble: str  # in a sentence; empty: this furnace can do it
    at: int  # the segment that the trouble is about; 0: none of them
    picture: Picture | None


@profiles.get("/profiles")
@looks
def show() -> Response:
    """All profiles, the person's own first."""
    return page("plan", "profiles.html", files=_files(), answer=last_answer())


@profiles.get("/profiles/<kind>/<stem>")
@looks
def edit(kind: str, stem: str) -> Response:
    """One profile: as its file has it, or as it has been changed so far."""
    file = _file(kind, stem)
    if file is None:
        return page("plan", "missing.html", status=404, why=f"{kind}/{stem}"[:60] + " is no profile of the list.")
    draft = from_text(file.text)
    if request.args:
        draft = changed(from_form(request.args, draft.remarks), request.args.get("do", ""))
    return _shown(file, draft, last_answer())


@profiles.post("/profiles/<kind>/<stem>")
@runs
def keep(kind: str, stem: str) -> Response:
    """Save the draft, if this furnace can do it: over its own file, or as a copy of one that ships."""
    file, mine = _file(kind, stem), parts()
    if file is None:
        return page("plan", "missing.html", status=404, why=f"{kind}/{stem}"[:60] + " is no profile of the list.")
    before = from_text(file.text)
    draft = from_form(request.form, before.remarks)
    judged = _judge(draft)
    if judged.trouble:
        return _shown(file, draft, mine.asking.refuse(f"Nothing is saved. {judged.trouble}"))
    try:
        key = save(mine.config.own_profiles, file, draft.head["name"], judged.toml, mine.config.utc_ms(), _files())
    except InputRefused as refused:
        return _shown(file, draft, mine.asking.refuse(f"Nothing is saved. {refused}"))
    told = _difference(before, draft)
    mine.audit.asked(
        (who(), role(), request.remote_addr or "?"), f"profile {key}: {told}"[:500], "saved", counted=False
    )
    done = mine.asking.keep(Answer(uuid4().hex, "accepted", f"{key} is saved: {told}"[:300]))
    return go_to(f"/profiles?answer={done.id}")


def _files() -> Sequence[ProfileFile]:
    config = parts().config
    return profile_files(config.examples, config.own_profiles)


def _file(kind: str, stem: str) -> ProfileFile | None:
    return next((each for each in _files() if each.key == f"{kind}/{stem}" and not each.trouble), None)


def _judge(draft: Draft) -> Judged:
    """What the supervisor says of it; nobody else knows what this furnace can do."""
    try:
        toml = draft.toml()
        found, why = parts().forecasts.judge(toml)
    except (InputRefused, OSError) as problem:
        toml, found, why = "", None, str(problem)
    why = _PLACE.sub("", why)
    place = _SEGMENT.search(why)
    return Judged(toml, why, int(place[1]) if place else 0, None if found is None else picture(found["legs"]))


def _shown(file: ProfileFile, draft: Draft, answer: Answer | None) -> Response:
    judged = _judge(draft)
    rows = [
        Row(number, each, each.sentence(number), judged.trouble if judged.at == number else "")
        for number, each in enumerate(draft.segments, start=1)
    ]
    return page(
        "plan",
        "profile.html",
        file=file,
        draft=draft,
        judged=judged,
        rows=rows,
        kinds=KINDS,
        until=UNTIL,
        units_of=UNITS,
        head=HEAD,
        charge=CHARGE,
        alloys=[*table(), UNKNOWN],
        in_use=_in_use(file),
        earlier=kept(parts().config.own_profiles, file),
        answer=answer,
    )


def _in_use(file: ProfileFile) -> bool:
    """The firing that runs now began with a profile of this name: it keeps its own text."""
    moment = parts().feed.latest()
    if moment is None or moment.snapshot["firing"] is None or moment.snapshot["state"] not in LIVE_STATES:
        return False
    profile: Any = moment.snapshot["profile"]
    return profile is not None and profile["name"] == file.name


def _difference(before: Draft, now: Draft) -> str:
    """What was changed, in a line."""

    def lines(draft: Draft) -> list[str]:
        rest = {**draft.head, **{f"charge {name}": value for name, value in draft.charge.items()}}
        said = [f"{name} {value}" for name, value in rest.items() if value.strip()]
        return said + [f"{number}. {each.sentence(number)}" for number, each in enumerate(draft.segments, start=1)]

    old, new = lines(before), lines(now)
    gone, came = [each for each in old if each not in new], [each for each in new if each not in old]
    if not gone and not came:
        return "as it was"
    return f"now {'; '.join(came) or 'nothing more'}; was {'; '.join(gone) or 'nothing'}"

"""docs/fault_finder.md, written from the fault finder itself."""

from textwrap import fill

from supervisor.care.faults import DEAD, SYMPTOMS, Symptom
from supervisor.furnace.parts import PARTS

WIDTH = 120

HEAD = f"""\
# Fault finder

From what is seen to the part that broke, in three steps, the likeliest first. `meltkeeper care faults` begins with
what the record of the last month shows; `meltkeeper care faults no-heat` with what you see. The page Equipment shows
the same.

> **{DEAD}**
> That stands before every step marked †. No step measures under mains, and none asks for a cover to be opened with the
> supply on. Work on mains is done or checked by a licensed person, to the local code.

A part that is changed is proved again before heat: `meltkeeper furnace part` says how. This page is written from
`supervisor/care/faults.py` by `python -m tests.pages`; a test compares the two.
"""


def fault_finder_page() -> str:
    """The text of the page."""
    return "\n".join([HEAD, *(_symptom(name, symptom) for name, symptom in SYMPTOMS.items())])


def _symptom(name: str, symptom: Symptom) -> str:
    rows = [
        f"| {number}{'†' if test.hands else ''} | {test.do} | {test.good} | {PARTS[test.part].title} |"
        for number, test in enumerate(symptom.tests, start=1)
    ]
    seen = fill(f"`{name}`. {symptom.seen}", width=WIDTH, break_on_hyphens=False)
    table = "\n".join(["| | do | good | else |", "|---|---|---|---|", *rows])
    return f"## {symptom.title}\n\n{seen}\n\n{table}\n"

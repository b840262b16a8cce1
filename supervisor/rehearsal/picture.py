"""The strip of a rehearsal as an SVG file."""

from pathlib import Path

from supervisor.logbook.reading import open_log
from supervisor.refusal import InputRefused
from supervisor.rehearsal.rehearse import Outcome
from supervisor.strip import strip


def draw(file: Path, directory: Path, outcome: Outcome) -> None:
    """Write the strip of the last rehearsal in this directory to a file.

    Raises:
        InputRefused: the file cannot be written.
    """
    with open_log(directory) as log:
        title = f"{outcome.wish.profile.name}: {outcome.state}"
        picture = strip(log, log.firings(limit=1)[0].id, title, caption="minutes; °C; simulated")
    try:
        file.write_text(picture, encoding="utf-8")
    except OSError as error:
        raise InputRefused(f"--plot is {file}; it cannot be written: {error.strerror}.") from error

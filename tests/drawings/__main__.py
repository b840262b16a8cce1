"""`python -m tests.drawings`: writes docs/pictures/wiring-*.svg and permit-*.svg anew."""

from pathlib import Path

from tests.drawings import permit, wiring, wiring_pi

PICTURES = Path(__file__).resolve().parents[2] / "docs" / "pictures"

SHEETS = {**wiring.SHEETS, **wiring_pi.SHEETS, **permit.SHEETS}


def write() -> None:
    """Write every drawing."""
    for name, draw in SHEETS.items():
        (PICTURES / f"{name}.svg").write_text(draw().svg(), encoding="utf-8")


if __name__ == "__main__":
    write()

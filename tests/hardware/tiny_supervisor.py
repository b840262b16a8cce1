"""A supervisor of a few lines, to be killed and stopped: `python -m tests.hardware.tiny_supervisor SOCKET`.

It toggles the permit and heats whenever the contactor is in. Each sample's time goes to standard output.
"""

import sys
from pathlib import Path

from hardware.ports import Level
from hardware.simulated.client import ConnectedFurnace
from tests.hardware.tiny import HEAT, TOGGLE, WIRING


def main() -> None:
    furnace = ConnectedFurnace(Path(sys.argv[1]), WIRING)
    while True:
        sample = furnace.sample()
        furnace.apply(HEAT if sample.inputs.mirror is Level.OPEN else TOGGLE)
        sys.stdout.write(f"{sample.monotonic_s}\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main()

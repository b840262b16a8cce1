"""The input lines in a sample: two bits each."""

from hardware.ports import Inputs, Level

LEVELS = (Level.OPEN, Level.CLOSED, Level.NOT_FITTED)


def input_levels(inputs: int) -> dict[str, Level]:
    """The input lines of a sample by name: two bits each, the last line lowest; 0 open, 1 closed, 2 not fitted.

    Raises:
        ValueError: a line has bits that mean nothing.
    """
    count = len(Inputs._fields)
    codes = [inputs >> 2 * (count - 1 - place) & 3 for place in range(count)]
    if 3 in codes:
        raise ValueError(f"inputs is {inputs}; line {Inputs._fields[codes.index(3)]} has no level 3")
    return dict(zip(Inputs._fields, (LEVELS[code] for code in codes), strict=True))

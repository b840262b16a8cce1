"""How the Pi starts: lines of config.txt and cmdline.txt. Texts in, texts out; the files are touched in `steps`."""

import re

BEGINS = "# meltkeeper begins: the sensor's bus, and pins that become inputs again when a program has died"
ENDS = "# meltkeeper ends"
WANTED = ("dtparam=spi=on", "dtparam=strict_gpiod")

SERIAL_CONSOLE = re.compile(r"\bconsole=(?:serial0|ttyAMA0|ttyS0),\d+ ?")


def with_ours(text: str) -> str:
    """A config.txt with the lines that are wanted; unchanged where they count already.

    Ours come last and under [all]: the last setting of a parameter counts, and a filter before it does not.
    """
    theirs = without_ours(text)
    missing = [line for line in WANTED if not _counts(line, theirs)]
    if not missing:
        return theirs
    gap = "" if not theirs or theirs.endswith("\n") else "\n"
    return f"{theirs}{gap}{BEGINS}\n[all]\n" + "".join(f"{line}\n" for line in missing) + f"{ENDS}\n"


def without_ours(text: str) -> str:
    """A config.txt as it was before our lines."""
    kept, ours = [], False
    for line in text.splitlines(keepends=True):
        ours = ours or line.strip() == BEGINS
        if not ours:
            kept.append(line)
        ours = ours and line.strip() != ENDS
    return "".join(kept)


def _counts(wanted: str, text: str) -> bool:
    """Whether a line is in force for every Pi: outside each filter, and not taken back later."""
    for_all, found = True, False
    name, _, _ = wanted.removeprefix("dtparam=").partition("=")
    for line in (line.strip() for line in text.splitlines()):
        if section := re.fullmatch(r"\[(.+)\]", line):
            for_all = section[1] == "all"
        elif re.match(rf"dtparam={name}\b", line) or re.match(rf"dtparam=.*,{name}\b", line):
            found = for_all and line == wanted
    return found


def without_serial_console(text: str) -> str:
    """A cmdline.txt that leaves BCM 14 and 15 to us. One line, as the firmware wants it."""
    return SERIAL_CONSOLE.sub("", text)


def with_serial_console(text: str, before: str) -> str:
    """A cmdline.txt with the serial console that was taken off it, and whatever else became of the line since.

    before: the line before it was taken off. One that somebody has put there meanwhile stays as it is.
    """
    if SERIAL_CONSOLE.search(text):
        return text
    if text == without_serial_console(before):
        return before
    taken = [word.strip() for word in SERIAL_CONSOLE.findall(before)]
    return " ".join([*taken, text])

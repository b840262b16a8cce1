"""Input that cannot be used: one error, whose text is the one sentence that a person is shown."""

import json


class InputRefused(ValueError):
    """What was given cannot be used. `str()` of it is one sentence: where, field, value, what is allowed.

    Every command shows the sentence and ends with exit status 2.
    """


def refusal(source: str, field: str, value: object, allowed: str) -> InputRefused:
    """The usual refusal: `profile.toml: segment[2].ramp_to_c is 900; allowed: 40 to 850 °C`."""
    return InputRefused(f"{source}: {field} is {shown(value)}; allowed: {allowed}")


def shown(value: object) -> str:
    """A value as its writer would know it again, on one line and not too long."""
    if isinstance(value, dict | list):
        return "a table" if isinstance(value, dict) else f"a list of {len(value)}"
    text = json.dumps(value, ensure_ascii=False) if isinstance(value, str | bool) else str(value).removesuffix(".0")
    text = " ".join(text.encode("utf-8", "replace").decode().split())
    return text if len(text) <= 60 else text[:57] + "..."

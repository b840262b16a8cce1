"""The bench's levers, for a simulated furnace alone."""

from flask import Blueprint, Response, request

from web.asking import Answer
from web.bench import message_of
from web.pages.show import answered
from web.parts import parts
from web.roles import runs

bench = Blueprint("bench", __name__)


@bench.post("/bench")
@runs
def lever() -> Response:
    """Move one lever of the simulated furnace. The supervisor hears nothing of it."""
    mine = parts()
    assert mine.bench is not None
    try:
        message = message_of(request.form)
        if message["bench"] != "pace":
            mine.bench.slow()
        came = mine.bench.charge(message) if message["bench"] == "add_charge" else mine.bench.ask(message)
    except (OSError, ValueError) as problem:
        return answered(mine.asking.refuse(f"{problem}."))
    mine.drawer.look_again()
    if not came.get("ok"):
        return answered(mine.asking.refuse(f"{came.get('error', 'the bench refused')}."))
    return answered(_said(message["bench"], came, mine.asking.refuse("")))


def _said(lever: str, came: dict[str, object], blank: Answer) -> Answer:
    sentence = "Simulated: done."
    if lever == "limiter_reset":
        sentence = "Simulated: the limiter is reset." if came.get("reset") else "Simulated: too hot, it does not reset."
    if lever == "pour":
        sentence = f"Simulated: {came.get('poured_kg', 0):.2f} kg left the pot."
    return parts().asking.keep(blank._replace(kind="accepted", sentence=sentence))

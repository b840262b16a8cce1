"""Plan a melt: what comes out, what goes in, whether it fits, what stands against it; and the way to the furnace."""

from collections.abc import Mapping

from flask import Blueprint, Response, request

from supervisor.book import ingots
from supervisor.book import lots as book_lots
from supervisor.book import moulds as book_moulds
from supervisor.book.charging import Confirmed, as_message, confirm, confirmed
from supervisor.book.plans import Entry, KeptPlan, keep, plan_named, plans
from supervisor.book.pot import in_the_pot
from supervisor.book.tree import named
from supervisor.book.writing import Book
from supervisor.metal.masses import kg_of, kg_or_none_of
from supervisor.refusal import InputRefused
from web.access import who
from web.asking import number
from web.cookies import has_read
from web.history import heat_numbers
from web.metal import count_word, kept, proof_entered, reading, written
from web.pages.show import answered, last_answer, page
from web.parts import parts
from web.planned import asks_for, furnace_of, heating_of, shown, with_forecast
from web.profiles import ProfileFile, usual
from web.replies import go_to
from web.roles import looks, runs

plan = Blueprint("plan", __name__)

Form = Mapping[str, str]


@plan.get("/plan")
@looks
def show() -> Response:
    """The plans that wait, and the way to a new one."""
    try:
        with reading() as book:
            found, choices, left = plans(book), _choices(book), in_the_pot(book)
    except ValueError as problem:
        return page("plan", "missing.html", status=404, why=str(problem))
    rows = [(each, sum(entry.kg for entry in each.entries)) for each in found]
    return page("plan", "plans.html", rows=rows, choices=choices, left=left, count=count_word, answer=last_answer())


@plan.post("/plan")
@runs
def new() -> Response:
    """Begin a plan with the lots that were named."""
    code: list[str] = []

    def write(book: Book) -> str:
        entries = _entries(book)
        if not entries and in_the_pot(book) is None:
            raise InputRefused("No mass is given; allowed: one lot at least with its mass in kg")
        chosen = [each.id for each in book_moulds.moulds(book)]
        profile = usual(parts().drawer.profiles())
        code.append(keep(book, entries, mould_ids=chosen, profile="" if profile is None else profile.key).code)
        return f"{code[0]} is kept."

    answer = kept(write)
    back = f"/plan/{code[0]}" if code and answer.kind == "accepted" else "/plan"
    return go_to(f"{back}?answer={answer.id}")


@plan.get("/plan/<code>")
@looks
def one(code: str) -> Response:
    """One plan, as things stand now."""
    mine = parts()
    furnace = furnace_of(mine.feed.latest(1.0))
    if furnace is None:
        return page("plan", "missing.html", status=409, why="The supervisor does not answer: nobody knows the pot.")
    try:
        with reading() as book:
            waiting = plan_named(book, code)
            profile = _profile(waiting.profile)
            found = shown(book, waiting, furnace.pot, heating_of(profile), mine.config.utc_ms())
            all_moulds, choices = book_moulds.moulds(book), _choices(book)
            taken = book.one("SELECT m.heat_number FROM melt m WHERE m.plan_id = ?", waiting.id)
    except ValueError as problem:
        return page("plan", "missing.html", status=404, why=str(problem))
    if profile is not None:
        forecast, trouble = mine.forecasts.of(asks_for(found, profile.text))
        found = with_forecast(found, forecast, trouble)
    return page(
        "plan",
        "plan.html",
        found=found,
        kept=waiting,
        plan=found.plan,
        profile=profile,
        profiles=[each for each in mine.drawer.profiles() if not each.trouble and each.mass_kg],
        all_moulds=all_moulds,
        choices=choices,
        masses={item.name: f"{item.kg:g}" for item in found.plan.items},
        count=count_word,
        taken=None if taken is None else taken["heat_number"],
        answer=last_answer(),
    )


@plan.post("/plan/<code>")
@runs
def change(code: str) -> Response:
    """Keep other masses, moulds or another profile."""

    def write(book: Book) -> str:
        before, entries = plan_named(book, code), _entries(book)
        same = {(e.holder, e.kg) for e in entries} == {(e.holder, e.kg) for e in before.entries}
        chosen = [book_moulds.mould_named(book, each).id for each in request.form.getlist("mould")]
        now = keep(
            book,
            entries,
            code=before.code,
            name=request.form.get("name", before.name),
            profile=request.form.get("profile", before.profile),
            mould_ids=chosen,
            carried=before if same else None,  # other metal: look again
        )
        return f"{now.code}, version {now.version}."

    return written(f"/plan/{code[:20]}", write)


@plan.post("/plan/<code>/take")
@runs
def take(code: str) -> Response:
    """Confirm the plan with what was ticked, and hand the charge to the supervisor. Nothing heats."""
    mine = parts()
    moment = mine.feed.latest()
    furnace = furnace_of(moment)
    if furnace is None:
        return answered(mine.asking.refuse("The supervisor does not answer."))
    if not has_read():
        return answered(mine.asking.refuse("Read the cautions first: page Cautions."))
    done: list[Confirmed] = []

    def write(book: Book) -> str:
        said = _with_answers(book, code)
        heating = heating_of(_profile(said.profile))
        done.append(confirm(book, said, furnace, heating, heat_numbers(mine.config.data)))
        return f"{code} is the charge {done[-1].heat_number}."

    answer = kept(write, again=False)
    if answer.kind != "accepted":
        return go_to(f"/plan/{code[:20]}?answer={answer.id}")
    return _prepare(done[-1])


@plan.post("/plan/<code>/answers")
@runs
def answers(code: str) -> Response:
    """Keep what was ticked, and show what still stands against it."""

    def write(book: Book) -> str:
        return f"{_with_answers(book, code).code}: noted."

    return written(f"/plan/{code[:20]}", write)


@plan.post("/charge/<heat_number>/prepare")
@runs
def prepare_again(heat_number: str) -> Response:
    """Prepare a charge that was confirmed and not started since."""
    try:
        with reading() as book:
            found = confirmed(book, heat_number, parts().config.utc_ms())
    except ValueError as problem:
        return answered(parts().asking.refuse(str(problem)))
    return _prepare(found)


@plan.post("/moulds")
@runs
def mould() -> Response:
    """Write a mould down."""
    form = request.form

    def write(book: Book) -> str:
        mass = form.get("mass_kg", "").strip()
        volume = number(form, "volume_ml", "ml")
        made = book_moulds.add_mould(book, form.get("name", ""), volume, mass_kg=kg_of(mass) if mass else None)
        return f"{made.code}, {made.name}: {made.volume_ml:g} ml."

    return written(_back(form), write)


@plan.post("/moulds/<code>/dry")
@runs
def mould_dry(code: str) -> Response:
    """Note that a mould was heated through."""
    form = request.form

    def write(book: Book) -> str:
        found = book_moulds.mould_named(book, code)
        return proof_entered(book, ("mould", found.id), found.code, "dry", form)

    return written(_back(form), write)


def _prepare(done: Confirmed) -> Response:
    mine, profile = parts(), _profile(done.profile)
    if profile is None:
        return answered(mine.asking.refuse(f"The profile {done.profile} of {done.heat_number} is not there any more."))
    if mine.bench:
        mine.bench.slow()
    return answered(mine.asking.ask(as_message(done, profile.text, mine.config.utc_ms()), who()))


def _with_answers(book: Book, code: str) -> KeptPlan:
    """A version of the plan with what was ticked just now."""
    before = plan_named(book, code)
    said = {name.removeprefix("yes "): "yes" for name in request.form if name.startswith("yes ")}
    air = request.form.get("air", "")
    said |= {"air": air} if air in ("dry", "damp") else {}
    return keep(
        book,
        before.entries,
        code=before.code,
        name=before.name,
        profile=before.profile,
        mould_ids=before.moulds,
        answers={name[:60]: value for name, value in list(said.items())[:40]},
        note=before.note,
    )


def _entries(book: Book) -> list[Entry]:
    """Lots with a mass; a row without one names nothing."""
    found = []
    for name, mass in zip(request.form.getlist("lot"), request.form.getlist("kg"), strict=False):
        if name.strip() and mass.strip() and (kg := kg_or_none_of(mass)):
            holder = named(book, name, ("lot", "ingot"))
            found.append(Entry((holder.kind, holder.id), kg))
        elif name.strip() and not mass.strip() and request.form.get("asked") == name:
            raise InputRefused(f"{name.strip()[:30]} has no mass; it has no default. Weigh it, and type kg.")
    return found


def _choices(book: Book) -> tuple[list[tuple[str, str]], list[tuple[str, str]]]:
    """Lots and ingots that are there: name, and what it is."""
    lots = [(lot.code, f"{lot.name}, {lot.alloy}, {lot.kg:.2f} kg") for lot in book_lots.lots(book)]
    cast = [each for each in ingots.ingots(book) if each.cast_kg is not None and not each.is_gone]
    return lots, [(each.name, f"ingot, {each.left_kg:.2f} kg") for each in cast]


def _profile(key: str) -> ProfileFile | None:
    return next((each for each in parts().drawer.profiles() if each.key == key and not each.trouble), None)


def _back(form: Form) -> str:
    back = form.get("plan", "")
    return f"/plan/{back[:20]}" if back else "/plan"

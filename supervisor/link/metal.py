"""What the snapshot says of the metal, the boost, the model and the forecast: no number with a doubt, none too fine."""

from typing import Any

from supervisor.cycle import Memory
from supervisor.firing.advise import pour_c
from supervisor.firing.firing import Firing, Run
from supervisor.link import coarse
from supervisor.link.pour import pour
from supervisor.model.countdown import Minutes
from supervisor.model.estimate import Estimate
from supervisor.model.learned import usable_for_boost

READY_WITHIN_MIN = 1.0


def parts(memory: Memory) -> dict[str, Any]:
    """The parts of the snapshot that the model has to do with; docs/link.md says what they hold."""
    run, known = memory.firing.run, metal(memory)
    return {
        "metal": known,
        "pour": pour(memory, known),
        "boost": _boost(run),
        "mass_doubt": _mass_doubt(run),
        "model": _model(memory),
        "forecast": _forecast(memory),
        "pot_drained": pot_drained(memory.firing),
    }


def metal(memory: Memory) -> dict[str, Any] | None:
    """The estimate of the firing in progress or just over; None: no metal in it, poured, or not followed yet."""
    run, adviser = memory.firing.run, memory.adviser
    if run is None or run.profile.charge is None or run.poured or not run.followed:
        return None
    doubt = _doubt(memory, run)
    if doubt:
        return {**_of_estimate(None, liquid=run.gate.may_be_liquid), "doubt": doubt, **_of_minutes(memory, None)}
    if adviser.estimate is None:
        return None
    ready = _ready(memory, run, adviser.estimate)
    known = _of_estimate(adviser.estimate, liquid=run.gate.may_be_liquid)
    minutes = None if ready else adviser.minutes_left(memory.belief.monotonic_s)
    return {**known, "doubt": "", "ready": ready, **_of_minutes(memory, minutes)}


def _doubt(memory: Memory, run: Run) -> str:
    estimate = memory.adviser.estimate
    if run.mass_doubt is not None:
        return f"What is in the pot is doubted. {run.mass_doubt.evidence}"
    return memory.adviser.doubt or ("" if estimate is None else estimate.doubt)


def _of_estimate(estimate: Estimate | None, *, liquid: bool) -> dict[str, Any]:
    """liquid: the chamber has been hot enough for liquid metal."""
    names = (
        "c",
        "low_c",
        "high_c",
        "about_c",
        "band_k",
        "share_low",
        "share_molten",
        "share_high",
        "quarters",
        "phase",
    )
    if estimate is None:
        return {**dict.fromkeys(names), "words": "", "ready": False}
    near = coarse.about(estimate.metal_c, estimate.low_c, estimate.high_c)
    shares = (estimate.share_low, estimate.share_molten, estimate.share_high)
    return {
        "c": round(estimate.metal_c, 1),
        "low_c": round(estimate.low_c, 1),
        "high_c": round(estimate.high_c, 1),
        "about_c": near.c,
        "band_k": near.band_k,
        "share_low": round(estimate.share_low, 2),
        "share_molten": round(estimate.share_molten, 2),
        "share_high": round(estimate.share_high, 2),
        "quarters": coarse.quarters(*shares),
        "phase": estimate.phase,
        "words": _words(estimate, shares, liquid=liquid),
        "ready": False,
    }


def _words(estimate: Estimate, shares: tuple[float, float, float], *, liquid: bool) -> str:
    if estimate.phase == "solid":
        return "likely still solid" if liquid else "all solid"
    if estimate.phase == "liquid":
        return "likely all liquid"
    return "beginning to melt" if coarse.quarters(*shares) == 0 else coarse.share(*shares)


def _ready(memory: Memory, run: Run, estimate: Estimate) -> bool:
    """Likely at its pouring temperature, and nothing stands against a look: no finding but the open lid, no proof."""
    if memory.firing.proofs.proving:
        return False
    finds = any(s.stands or s.shown for name, s in memory.alarms.standing.items() if name != "lid")
    minutes = memory.adviser.minutes_left(memory.belief.monotonic_s)
    waits = minutes is not None and minutes.likely >= READY_WITHIN_MIN  # for the coldest metal
    return not (finds or waits) and estimate.phase == "liquid" and estimate.metal_c >= pour_c(run.profile)


def _of_minutes(memory: Memory, minutes: Minutes | None) -> dict[str, Any]:
    """The countdown, and the promise of an hour, which moves only when it moves by much."""
    run, now_s = memory.firing.run, memory.belief.monotonic_s
    if minutes is None or run is None:
        return {"minutes": None, "pour_in_s": None, "ahead": []}
    likely, low, high, path = minutes
    promise_s = memory.adviser.promise_s
    in_s = 60.0 * likely if promise_s is None else promise_s - now_s
    said = {
        "likely": round(likely, 1),
        "low": round(low, 1),
        "high": round(high, 1),
        "give_min": coarse.give_or_take(in_s / 60.0, low, high),
        "words": coarse.countdown(likely),
    }
    ahead = [[round(60.0 * at), round(c)] for at, c in path]
    return {"minutes": said, "pour_in_s": None if likely < coarse.NEARLY_MIN else round(in_s), "ahead": ahead}


def _boost(run: Run | None) -> dict[str, Any]:
    if run is None or run.profile.charge is None:
        return {"on": False, "cap_c": None, "why": ""}
    return {"on": run.boost.on, "cap_c": run.boost.cap_c, "why": run.boost.why_off}


def _mass_doubt(run: Run | None) -> dict[str, Any] | None:
    if run is None or run.mass_doubt is None:
        return None
    return {**run.mass_doubt._asdict(), "confirmed": run.mass_confirmed}


def _model(memory: Memory) -> dict[str, Any] | None:
    """The model of this firing, or of those to come while none is on."""
    adviser = memory.adviser
    model = adviser.adopted if memory.firing.run is None or memory.firing.run.closed else adviser.model
    if model is None:
        return None
    solid = model.residual_k.get("solid")
    return {
        "learned_from": len(model.learned_from),
        "made_utc_ms": model.made_utc_ms,
        "residual_k": None if solid is None else round(solid.rms, 1),
        "metered": model.metered,
        "boost": usable_for_boost(model, memory.furnace) or "",
    }


def _forecast(memory: Memory) -> dict[str, Any] | None:
    """Of what is prepared; frozen at the start."""
    found = memory.adviser.forecast
    if found is None or (memory.firing.prepared is None and memory.firing.run is None):
        return None
    said = found.as_object()
    give_min = None if found.minutes is None else coarse.give_or_take(*found.minutes)
    return {**said, "give_min": give_min}


def pot_drained(firing: Firing) -> bool:
    """Nothing is in the pot but what is charged next. After a firing with metal: only if all of it was poured."""
    run = firing.run
    over = run is not None and run.closed and run.profile.charge is not None
    return run.poured if run is not None and over else firing.drained

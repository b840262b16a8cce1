"""The rows of the group `control`: each figure with the plain controller's as baseline and its goal in the note."""

from collections.abc import Callable, Iterable, Sequence
from math import nan, sqrt

from tests.benchmarks.control_figures import (
    PHASES,
    Told,
    mean,
    phase_bias,
    phase_coverage,
    phase_rms,
    quantile,
    rms,
)
from tests.benchmarks.figure import Figure
from tests.benchmarks.standard_firings import FAULTY, STANDARD

MELTS = tuple(kind.name for kind in STANDARD if kind.share)
FAULTS = tuple(kind.name for kind in FAULTY)
WRONG_MASS = ("mass_half", "mass_double")

Of = Callable[[Sequence[Told]], float]


def rows(firings: Sequence[Told]) -> list[Figure]:
    """All figures of the group."""
    model = [f for f in firings if f.controller == "model" and f.kind not in FAULTS]
    plain = [f for f in firings if f.controller == "plain"]
    unlimited = [f for f in firings if f.controller == "unlimited"]
    faulty = [f for f in firings if f.kind in FAULTS]
    return [
        *_pour(model, plain, unlimited),
        *_metal_over_target(model, plain, faulty),
        *_regulation(model, plain),
        *_learned(model),
        *_estimate(model),
        *_asked(model, faulty),
        *_health(model, plain, unlimited, faulty),
        *_by_kind(model, plain),
    ]


def _ratios(firings: Iterable[Told]) -> list[float]:
    return [ratio for firing in firings if (ratio := firing.ratio) is not None]


def _pour(model: Sequence[Told], plain: Sequence[Told], unlimited: Sequence[Told]) -> list[Figure]:
    """Minutes and energy to pour over the bound's; baseline: the plain controller in the same runs."""
    found = []
    for name, firings, goals in (
        ("pour_ratio", model, (1.10, 1.20)),
        ("pour_ratio_unlimited", unlimited, (1.05, 1.10)),
    ):
        if not firings:
            continue
        limits = "boost's limits in force" if name == "pour_ratio" else "without them, cap 850 °C: benchmark only"
        ratios, before = _ratios(firings), _ratios(plain)
        found += [
            Figure(f"{name}_mean", mean(ratios), "", mean(before), f"goal <= {goals[0]:.2f}; {limits}"),
            Figure(f"{name}_p95", quantile(ratios, 0.95), "", quantile(before, 0.95), f"goal <= {goals[1]:.2f}"),
        ]
    return [*found, Figure("energy_ratio", _energy(model), "", _energy(plain), "goal <= 1.03")]


def _energy(firings: Sequence[Told]) -> float:
    return mean(f.kwh / f.bound.kwh for f in firings if f.kwh is not None and f.bound is not None)


def _metal_over_target(model: Sequence[Told], plain: Sequence[Told], faulty: Sequence[Told]) -> list[Figure]:
    def over(firings: Iterable[Told]) -> list[float]:
        return [f.over_target_k for f in firings if f.over_target_k is not None]

    note = "goal <= 15; hottest metal after ready"
    found = [Figure("metal_over_target_p95_c", quantile(over(model), 0.95), "K", quantile(over(plain), 0.95), note)]
    if faulty:
        note = "goal <= 30; mass x 0.5 and x 2, creep, roof, leak"
        found.append(Figure("metal_over_target_faults_p95_c", quantile(over(faulty), 0.95), "K", None, note))
        for kind in FAULTS:
            worst = [f for f in faulty if f.kind == kind]
            note = f"worst {max(over(worst), default=nan):.0f} K"
            found.append(Figure(f"metal_over_target_{kind}_p95_c", quantile(over(worst), 0.95), "K", None, note))
    return found


def _regulation(model: Sequence[Told], plain: Sequence[Told]) -> list[Figure]:
    """Firings without metal: ramps that the furnace can follow at 0.85 duty, holds, overshoot, relay."""

    def ramp_rms(firings: Sequence[Told]) -> float:
        ramps = [ramp for f in firings for ramp in f.ramps]
        count = sum(ramp[0] for ramp in ramps)
        return sqrt(sum(ramp[1] for ramp in ramps) / count) if count else nan

    def ramp_worst(firings: Sequence[Told]) -> float:
        return max((ramp[2] for f in firings for ramp in f.ramps), default=nan)

    def overshoot(firings: Sequence[Told]) -> float:
        return max((f.overshoot_k for f in firings if f.overshoot_k is not None), default=nan)

    def hold(firings: Sequence[Told]) -> float:
        return quantile((hold_k for f in firings for hold_k in f.holds_k), 0.95)

    def relay(firings: Sequence[Told]) -> float:
        return max((f.relay_per_h for f in firings if f.relay_per_h is not None), default=nan)

    ramps = sum(len(f.ramps) for f in model)
    table: tuple[tuple[str, Of, str, str], ...] = (
        ("ramp_rms_c", ramp_rms, "K", f"goal <= 2; {ramps} ramps of 100 and 600 °C/h without metal"),
        ("ramp_worst_c", ramp_worst, "K", "goal <= 8; the worst second of all"),
        ("overshoot_c", overshoot, "K", "goal <= 8; the worst firing without metal, reading over the segment's end"),
        ("hold_peak_to_peak_c", hold, "K", "goal <= 1; 95 % of holds, means of 10 s over the last 20 min"),
        ("relay_operations_per_h", relay, "1/h", "goal <= 1800; the most, in a hold"),
    )
    return [Figure(name, of(model), unit, of(plain), note) for name, of, unit, note in table]


def _learned(model: Sequence[Told]) -> list[Figure]:
    """What the model learned from three ordinary melts says of melts that it has not seen."""
    open_loop = [f.open_loop_k for f in model if f.open_loop_k is not None]
    molten = [f.molten_error_min for f in model if f.molten_error_min is not None]
    entered = [f.open_loop_entered_k for f in model if f.open_loop_entered_k is not None]
    molten_entered = [f.molten_error_entered_min for f in model if f.molten_error_entered_min is not None]
    undisturbed = [f for f in model if f.kind != "mains" and f.forecast_min and f.minutes and f.forecast_kwh and f.kwh]
    kwh = [(f.forecast_kwh or 0.0) / (f.kwh or 1.0) - 1.0 for f in undisturbed]
    minutes = [(f.forecast_min or 0.0) / (f.minutes or 1.0) - 1.0 for f in undisturbed]
    return [
        Figure("open_loop_rms_c", rms(open_loop), "K", None, "goal <= 10; reading, melts from cold, mass as it was"),
        Figure("open_loop_entered_rms_c", rms(entered), "K", None, "the same with the mass as entered, within 10 %"),
        Figure("time_to_molten_rms_min", rms(molten), "min", None, f"goal <= 1.5; bias {mean(molten):+.1f}"),
        Figure("time_to_molten_entered_rms_min", rms(molten_entered), "min", None, "with the mass as entered"),
        Figure(
            "forecast_minutes_rms", rms(minutes), "", None, f"goal <= 0.10; made before the start; {_signed(minutes)}"
        ),
        Figure("forecast_minutes_p95", quantile(map(abs, minutes), 0.95), "", None, "of the same, without a sign"),
        Figure("forecast_kwh_rms", rms(kwh), "", None, f"goal <= 0.10; {_signed(kwh)}"),
    ]


def _signed(shares: Sequence[float]) -> str:
    return f"bias {mean(shares):+.3f}"


def _estimate(model: Sequence[Told]) -> list[Figure]:
    """Errors and bands against the plant's truth, before any dip reading."""
    goals = {"solid": 25, "melting": 12, "liquid": 15}
    found = []
    for phase in PHASES:
        note = f"goal <= {goals[phase]}; bias {phase_bias(model, phase):+.1f} K"
        found.append(Figure(f"metal_rms_{phase}_c", phase_rms(model, phase), "K", None, note))
    for phase in PHASES:
        with_dips, without = (phase_coverage((f for f in model if f.dips_learned is d), phase) for d in (True, False))
        note = f"goal 0.85 to 0.95 of the 90 % band; learned with dip readings {with_dips:.2f}, without {without:.2f}"
        found.append(Figure(f"coverage_{phase}", phase_coverage(model, phase), "", None, note))
    dipped = [f.dipped for f in model if f.dipped.count]
    after = sqrt(mean(e.squares_k2 / e.count for e in dipped))
    to_go = [f.to_go_error_min for f in model if f.to_go_error_min is not None]
    said = sum(sum(e.count for e in f.phases.values()) + f.dipped.count for f in model)
    unsaid = sum(f.unsaid for f in model)
    return [
        *found,
        Figure("metal_rms_after_dip_c", after, "K", None, "goal <= 8; liquid, after one true dip reading"),
        Figure("minutes_to_pour_rms_min", rms(to_go), "min", None, f"goal <= 2.5; at 15 min to go, {len(to_go)} melts"),
        Figure(
            "unsaid_share", unsaid / (said + unsaid) if said + unsaid else nan, "", None, "minutes without estimate"
        ),
    ]


def _asked(model: Sequence[Told], faulty: Sequence[Told]) -> list[Figure]:
    right = [f for f in model if f.kind in MELTS and f.kind != "addition"]
    wrong = [f for f in faulty if f.kind in WRONG_MASS]
    found = [
        Figure("mass_asked_right", mean(f.mass_doubted for f in right), "", None, "goal <= 0.02; mass within 10 %"),
    ]
    if wrong:
        note = "goal >= 0.95; half or twice the entered mass"
        found.append(Figure("mass_asked_wrong", mean(f.mass_doubted for f in wrong), "", None, note))
        warm = [f.mass_doubted for f in faulty if f.kind == "mass_half_warm"]
        note = "half the entered mass into a furnace at 550 °C, where little is seen before it melts"
        found.append(Figure("mass_asked_wrong_warm", mean(warm), "", None, note))
    return found


def _health(
    model: Sequence[Told], plain: Sequence[Told], unlimited: Sequence[Told], faulty: Sequence[Told]
) -> list[Figure]:
    """Caps, and whether firings did what they should."""
    every = [*model, *plain, *unlimited, *faulty]
    melts = [f for f in model if f.kind in MELTS]
    over = max(f.over_cap_k for f in [*model, *faulty])
    return [
        Figure("setpoints_over_cap", sum(f.setpoint_over_cap for f in every), "firings", None, "goal 0"),
        Figure("reading_over_cap_worst_c", over, "K", None, "reading over the cap's setpoint, all firings"),
        Figure("boosted_share", mean(f.boosted_min > 1.0 for f in melts), "", None, "melts with a boost of a minute"),
        Figure(
            "never_ready",
            sum(f.minutes is None for f in melts),
            "melts",
            sum(f.minutes is None for f in plain if f.kind in MELTS),
        ),
        Figure("alarms_per_firing", mean(len(f.alarms) for f in model), "", mean(len(f.alarms) for f in plain)),
        Figure("firings", len(every), "", None, "flown in all"),
    ]


def _by_kind(model: Sequence[Told], plain: Sequence[Told]) -> list[Figure]:
    found = []
    for kind in MELTS:
        mine, before = (_ratios(f for f in firings if f.kind == kind) for firings in (model, plain))
        if mine:
            note = f"worst {max(mine):.3f}"
            found.append(Figure(f"pour_ratio_{kind}_mean", mean(mine), "", mean(before), note))
    return found

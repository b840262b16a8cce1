"""What can be proved of a furnace before it may heat, in which stage each proof is made, and how long it holds.

Pure data. `stages` reckons with it; `meltkeeper check` and the firings themselves make the proofs.
"""

from collections.abc import Callable
from typing import NamedTuple

from supervisor.furnace import about
from supervisor.furnace.about import Of
from supervisor.furnace.description import FurnaceDescription

MONTHLY, YEARLY = 31.0, 365.0
"""Days after which a proof is due again. The yearly ones after NFPA 86 (2015), 7.4: safety devices are tested at least
once a year, and what was found is written down. The monthly ones are our choice."""
HOLDS_FOR = {MONTHLY: 92.0, YEARLY: 456.0}
"""Days after which a proof that was not made again holds no more: 15 months for the yearly ones, three months for the
monthly ones (our choice)."""


class Kind(NamedTuple):
    """One proof. It is made in the stage below the one that it opens, so that it can always be made."""

    title: str
    opens: int  # 1: short trials; 2: dry-out and first heat; 3: melts
    how: str  # what is done, in one or two sentences
    shows_not: str  # what it does not show
    about: Of = lambda furnace: ""  # what it was about: another pin or setting is not proved by it
    due_days: float | None = None  # None: once, until a part is changed
    fitted: Callable[[FurnaceDescription], bool] = lambda furnace: True
    stated: bool = False  # no input can witness it: a person says so, and it stays 'stated'
    either: bool = False  # a firing witnesses it, or a person who knows says so
    licensed: bool = False  # done or checked by a licensed person, to the local code
    only_after: str = ""  # what happened (`parts.EVENTS`) asks for it; else nobody does
    alone: bool = False  # `check` needs the hardware for itself: the supervisor is stopped meanwhile


KINDS = {
    "emergency-stop": Kind(
        "Emergency stop opens the contactor",
        1,
        "With the contactor in and no heat ordered, the emergency stop is pressed and pulled out again.",
        "That its second contact opens too.",
        lambda furnace: f"{about.pin('emergency_stop')(furnace)}, {about.contactor(furnace)}",
        MONTHLY,
        alone=True,
    ),
    "limiter-sensor": Kind(
        "Limiter trips when its sensor is unplugged",
        1,
        "The limiter's own sensor is unplugged at its plug, then plugged in again, and the limiter reset by hand.",
        "A slow drift, and where its sensor sits.",
        about.pin("limiter"),
        YEARLY,
    ),
    "limiter-setting": Kind(
        "Limiter's setting read from its dial",
        1,
        "Somebody reads the dial and says the number; it must be the one in the furnace file.",
        "That it trips there: the hot trip shows a lower setting alone.",
        about.limiter,
        YEARLY,
        stated=True,
    ),
    "key": Kind("Key seen off and on", 1, "The key is turned off, and on again.", "Who has the key.", about.pin("key")),
    "button": Kind(
        "Button at the furnace seen pressed and released",
        1,
        "The button is pressed shortly, and let go.",
        "Its other contact, in the contactor's circuit: the contactor's own proof shows that.",
        about.pin("reset_button"),
    ),
    "lid": Kind(
        "Lid switch seen open and shut",
        1,
        "The cold lid is opened, and shut again.",
        "That it breaks the relay's drive: the relay's light would show that.",
        about.pin("lid"),
        MONTHLY,
        about.has("lid"),
    ),
    "mains": Kind(
        "Mains presence seen off and on",
        1,
        "The furnace's breaker is switched off, and on again.",
        "A weak phase.",
        about.pin("mains"),
        fitted=about.has("mains"),
    ),
    "tray": Kind(
        "Tray probe seen wet and dry",
        1,
        "The two wires under the cold furnace are bridged with a damp cloth, and dried again.",
        "That metal would reach it.",
        about.pin("tray_probe"),
        fitted=about.has("tray_probe"),
    ),
    "cold-check": Kind(
        "Sensor agrees with its board while cold",
        1,
        "Hot and cold junction are compared in a cold furnace.",
        "How right it is when hot, and where its tip sits.",
        about.sensors,
    ),
    "lamp": Kind(
        "Lamp seen",
        1,
        "The lamp flashes some times, and somebody says how often.",
        "That it is seen from where you stand.",
        about.pin("lamp"),
        stated=True,
        alone=True,
    ),
    "sounder": Kind(
        "Sounder heard",
        1,
        "The sounder sounds some times, and somebody says how often.",
        "That it is heard beside a fan or radio.",
        about.pin("sounder"),
        stated=True,
        alone=True,
    ),
    "permit": Kind(
        "Heat permit runs out, stuck high and stuck low",
        1,
        "The permit is given, stuck high, given, and stuck low, with the enable off; each relay's time is kept.",
        "Other temperatures of the cabinet; one of two transistors in series that conducts for ever.",
        about.permit,
        alone=True,
    ),
    "permit-racing": Kind(
        "Heat permit refuses a line that races",
        1,
        "A program of its own toggles the permit every 25 ms, with the key off: both relays stay open.",
        "A line that races at a rate between.",
        about.permit,
        fitted=about.has("permit_relay_2"),
        alone=True,
    ),
    "contactor": Kind(
        "Contactor goes in by a held press alone, and opens",
        1,
        "The button is held, the contactor goes in, the relay is proved off, and the enable is taken away.",
        "Welding under load; that both poles opened: a licensed person measures that.",
        about.contactor,
        alone=True,
    ),
    "killed": Kind(
        "Killed program: contactor opens by itself",
        1,
        "With the contactor in, the program that gives the permit is killed.",
        "A frozen operating system: that looks the same to the permit, and is not tried.",
        lambda furnace: f"{about.permit(furnace)}, {about.contactor(furnace)}",
        MONTHLY,
        alone=True,
    ),
    "halted": Kind(
        "Halted program: contactor opens by itself",
        1,
        "With the contactor in, the program that gives the permit is halted, as if it hung.",
        "A frozen operating system.",
        lambda furnace: f"{about.permit(furnace)}, {about.contactor(furnace)}",
        MONTHLY,
        alone=True,
    ),
    "unplugged": Kind(
        "Computer without supply: contactor opens by itself",
        1,
        "With the contactor in, the computer's own supply is pulled. The contactor's lamp goes out within 3 s, and"
        " stays out when the computer is back.",
        "The killed program.",
        lambda furnace: f"{about.permit(furnace)}, {about.contactor(furnace)}",
        MONTHLY,
        stated=True,
    ),
    "earth-leakage": Kind(
        "Earth-leakage device trips by its test button",
        1,
        "The test button of the device in front of the furnace is pressed.",
        "At what current, and how fast.",
        due_days=MONTHLY,
        stated=True,
    ),
    "earth-bond": Kind(
        "Earth bond of shell, lid and sheath measured",
        1,
        "Supply isolated and locked off: the bond is measured, terminals and fuse are looked at.",
        "The inside of joints.",
        due_days=YEARLY,
        stated=True,
        licensed=True,
    ),
    "poles": Kind(
        "Both poles of the contactor measured open",
        1,
        "Supply isolated and locked off: both poles are measured, more than 1 megohm each.",
        "Welding under load.",
        due_days=YEARLY,
        stated=True,
        licensed=True,
    ),
    "insulation": Kind(
        "Insulation to earth measured on the dead circuit",
        1,
        "The earth-leakage device has tripped. Plug out or isolated, locked off and proved dead by a licensed person:"
        " element and wiring are measured against earth at 500 V direct voltage, cold. Below 1 megohm nothing is"
        " heated.",
        "How it insulates when hot or damp again; the device itself, which its own test button and a meter show.",
        stated=True,
        licensed=True,
        only_after="earth-leakage-trip",
    ),
    "not-fitted": Kind(
        "What is not fitted, read and understood",
        1,
        "Somebody reads what this furnace is without, and what is lost by it, on the page Equipment.",
        "Anything else.",
        about.not_fitted,
        stated=True,
    ),
    "direction": Kind(
        "Reading rises when it is heated",
        2,
        "A trial of up to 200 °C: the reading must rise by 10 K with heat on.",
        "How right the reading is.",
        about.sensors,
    ),
    "relay-off": Kind(
        "Relay lets go",
        2,
        "At the start of a trial, with the contactor in: no power while the relay is told off.",
        "A short to come. Every start proves it again.",
        lambda furnace: f"{about.pin('relay')(furnace)}, meter {furnace.pulses_per_kwh}",
        YEARLY,
    ),
    "limiter-trip": Kind(
        "Limiter trips hot and opens the contactor",
        2,
        "In a trial, at 150 to 200 °C, the limiter's setting is turned below the chamber's temperature; then it is set"
        " back, and somebody else reads it.",
        "A trip at the real setting, and where its sensor sits.",
        about.pin("limiter"),
        YEARLY,
    ),
    "meter": Kind(
        "Energy meter counts what is ordered",
        2,
        "A trial: pulses come while heat is on, and as many as the element should draw.",
        "Its accuracy.",
        lambda furnace: f"{about.pin('energy_pulse')(furnace)}, {furnace.pulses_per_kwh} per kWh",
        fitted=about.has("energy_pulse"),
    ),
    "current": Kind(
        "Current switch seen on and off",
        2,
        "A trial: it closes while heat is on, and opens when it is off.",
        "Half a wave.",
        about.pin("load_current"),
        fitted=about.has("load_current"),
    ),
    "dry-out": Kind(
        "Lining, cement and pot dried out",
        3,
        "A firing without metal of 3 h or more, to 250 °C or more, by the maker's own schedule, to its end.",
        "Water in a thick joint: look for steam.",
        either=True,
    ),
    "first-heat": Kind(
        "First heat, empty",
        3,
        "A firing without metal to the temperature of a melt, to its end.",
        "How it heats metal.",
    ),
}
"""Every proof by its name, in the order in which a person goes through them."""

FIRST_HEAT_C = 700.0
DRY_OUT_C, DRY_OUT_S = 250.0, 3 * 3600.0


def of(furnace: FurnaceDescription) -> dict[str, Kind]:
    """The proofs that this furnace needs: those of what is fitted."""
    return {name: kind for name, kind in KINDS.items() if kind.fitted(furnace)}

"""What a start asks of the metal: on a real furnace a charge that was planned, weighed and proved dry, and none under
quarantine.

The book is out of the supervisor's reach. What it knew when the charge was prepared comes with it and is frozen: the
masses, the lowest solidus, and how long the proofs of dryness last. What it learns later it tells by a note. Whoever
speaks to the link by hand can say anything; that they must say it is all that can be asked here.
"""

from supervisor.firing.firing import Firing
from supervisor.firing.permissive import Permissive


def has_charge(firing: Firing) -> bool:
    """A firing with metal is prepared."""
    return firing.prepared is not None and firing.prepared.profile.charge is not None


def of_the_metal(firing: Firing, now_s: float) -> tuple[Permissive, ...]:
    """The conditions that follow from the metal that is prepared; none without metal."""
    prepared = firing.prepared
    if prepared is None or prepared.profile.charge is None:
        return ()
    clear = Permissive("metal clear", True, "No quarantine of this charge is known.", "")
    if prepared.quarantined:
        mend = "Take it out of the pot, or let somebody clear it in the book, with a reason."
        clear = Permissive("metal clear", False, f"This charge is under quarantine: {prepared.quarantined}.", mend)
    if not firing.unlocking.counted:  # simulated: a profile may bring its own metal
        return (clear,) if prepared.quarantined else ()
    charge, planned = prepared.profile.charge, prepared.planned
    if planned is None:
        reason = "The charge is the one that the profile's file names: nobody weighed or planned it."
        mend = "Plan what you weighed: page Plan a melt, or meltkeeper charge plan."
        return (Permissive("metal planned", False, reason, mend), clear)
    weighed = Permissive("metal planned", True, f"Planned and weighed: {charge.mass_kg:.2f} kg.", "")
    return (weighed, _dry(planned.dry_for_s, now_s - firing.prepared_s), clear)


def _dry(dry_for_s: float | None, since_s: float) -> Permissive:
    mend = "Take the charge out, dry it, and plan again."
    if dry_for_s is None:
        reason = "Nobody said how long this charge is proved dry."
        return Permissive("metal dry", False, reason, "Prepare it from its plan.")
    left_s = dry_for_s - since_s
    if not left_s > 0.0:
        return Permissive("metal dry", False, "The proof that this charge is dry has ended.", mend)
    return Permissive("metal dry", True, f"Proved dry for {left_s / 3600.0:.1f} h more.", "")

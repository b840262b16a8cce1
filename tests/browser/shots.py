"""Which pictures docs/pictures.md shows: each page once, the furnace in each of its states; what each is to show."""

from typing import NamedTuple


class Shot(NamedTuple):
    """One page as a phone and a desk show it. words: what to see in it."""

    name: str
    path: str
    words: str


KEPT = (
    Shot("plan", "/plan", "Plans that wait, and the way to a new one."),
    Shot("best", "/plan/best?limits=Si=1..2&kg=2", "The best mix for a wish, and how well its limits hold."),
    Shot("today", "/plan/today", "What could be poured today, and what is missing for the rest."),
    Shot("profiles", "/profiles", "Profiles as sentences."),
    Shot("profile", "/profiles/example/ingots-2kg", "One profile: a sentence a segment, and the picture that follows."),
    Shot("weigh", "/lots/new", "Weighing a lot in, in one form."),
    Shot("melts", "/melts", "All melts, newest first, and what is still open of them."),
    Shot("melt", "/melts/96", "One melt: its strip, where the metal went, what it cost."),
    Shot("hung-up", "/melts/93", "A melt whose charge hung up."),
    Shot("compare", "/compare?melt=87&melt=96", "Two melts side by side, phase by phase."),
    Shot("trends", "/trends", "Figures over the months, no finer than their scatter."),
    Shot("metal", "/metal", "Where a bad lot went, the shelf, the bins."),
    Shot("ingot", "/ingots/A-094-1", "One ingot: what is likely in it, and why it is held back."),
    Shot("why-poor", "/ingots/A-096-1/why", "Why an ingot is poor: causes, ranked, with their evidence."),
    Shot("label", "/ingots/A-089-2/label", "Its label, 62 by 29 mm."),
    Shot("model", "/model", "What is learned of this furnace."),
    Shot("equipment", "/equipment", "What is fitted, how true the sensor is, how much life the element has."),
    Shot("size", "/size?asked=yes&volts=230&breaker=16&place=eu-fixed&shape=octagon&across=190&depth=230"
         "&wall=114&wall=23&metal=2,0&power=2400", "An element, its circuit and its wall on paper."),
    Shot("board", "/board", "The computer's own health."),
    Shot("cautions", "/first", "The cautions, before the first heat."),
    Shot("settings", "/settings", "Units, light, who is told, which phones are paired."),
    Shot("record", "/settings/record", "Who asked what, and what became of it."),
    Shot("notice", "/notice", "The notice for the door."),
    Shot("card", "/card", "The emergency card."),
)  # fmt: skip
"""Of the example, at rest."""

SCRIPTED = {
    "tripped": "A trip: the cause, what to do, what is done already.",
    "came back": "The power was away: off, what the metal may be, what not to do, two ways on.",
    "sign asked": "A sign is due: a tap on what the reading is, or the button.",
}
"""Of states that are written down for the tests."""

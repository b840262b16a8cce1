"""Every snapshot by the state that it shows."""

from tests.web.snapshots import GATE, HEATING, HELD, IDLE, LIQUID, STARTING, STOPPED
from tests.web.snapshots_people import AWAY, PRESS_DUE, SIGN_ASKED, SOONER, WATCHED
from tests.web.snapshots_pour import POURING, READY, READY_HOT, WITHDRAWN
from tests.web.snapshots_trouble import CAME_BACK, HELD_BY_LOG, TRIPPED

ALL = {
    "stopped": STOPPED,
    "idle": IDLE,
    "starting": STARTING,
    "heating": HEATING,
    "watched": WATCHED,
    "sign asked": SIGN_ASKED,
    "press due": PRESS_DUE,
    "gate": GATE,
    "held": HELD,
    "liquid": LIQUID,
    "tripped": TRIPPED,
    "away": AWAY,
    "sooner": SOONER,
    "ready hot": READY_HOT,
    "ready": READY,
    "withdrawn": WITHDRAWN,
    "pouring": POURING,
    "came back": CAME_BACK,
    "held by the log": HELD_BY_LOG,
}

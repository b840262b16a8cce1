"""A child process that must not outlive its parent."""

import ctypes
import signal

_PR_SET_PDEATHSIG = 1


def end_with_parent() -> None:
    """In the child: be told to end when the parent is killed. Linux alone can do so; elsewhere it lives on."""
    try:
        ctypes.CDLL(None).prctl(_PR_SET_PDEATHSIG, int(signal.SIGTERM))
    except AttributeError:
        return

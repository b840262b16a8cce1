"""Going on from one moment of a firing in several ways: each in a copy of the process."""

import gc
import os
import pickle
import traceback
from collections.abc import Callable
from typing import TypeVar

Done = TypeVar("Done")


def in_a_copy(work: Callable[[], Done]) -> Done:
    """Do it in a fork of this process, which leaves the firing here as it is; what it gave, pickled.

    Raises:
        RuntimeError: it failed in the fork.
    """
    read, write = os.pipe()
    child = os.fork()
    if not child:
        status = 1
        gc.disable()  # it lives for seconds
        try:
            with os.fdopen(write, "wb") as out:
                pickle.dump(work(), out)
            status = 0
        except BaseException:  # noqa: BLE001 - it is printed, and must not go on in the copy as if it were the parent
            traceback.print_exc()
        finally:
            os._exit(status)
    os.close(write)
    with os.fdopen(read, "rb") as came:
        answer = came.read()
    if os.waitpid(child, 0)[1]:
        raise RuntimeError("the copy of the process failed; what went wrong is printed above")
    found: Done = pickle.loads(answer)
    return found

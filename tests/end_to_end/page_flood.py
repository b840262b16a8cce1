"""Phones that ask without end: `python -m tests.end_to_end.page_flood ADDRESS PER_S`, until its input is closed.

They come from as many addresses of this machine as it takes to stay under the limit of rate for one, so that each
request is answered in full. At the end it says how many of each status there were.
"""

import json
import sys
import threading
from collections import Counter
from http.client import HTTPConnection, HTTPException

from hardware.clock import monotonic_s

MOST_FROM_ONE_PER_S = 15.0  # the pages allow 20
PATHS = ("/", "/live.json?page=now", "/first", "/metrics", "/strip/1.json", "/clock.json", "/nothing", "/melts")


def main(address: str, per_s: float) -> None:
    """Ask until told to end."""
    over, told = threading.Event(), Counter[str]()
    phones = max(1, round(per_s / MOST_FROM_ONE_PER_S + 0.5))
    host = address.removeprefix("http://")
    began_s = monotonic_s()

    def phone(number: int) -> None:
        asked = 0
        while not over.is_set():
            connection = HTTPConnection(host, timeout=20, source_address=(f"127.0.1.{number + 1}", 0))
            try:
                while not over.is_set():
                    due_s = began_s + (asked + number / phones) * phones / per_s
                    if over.wait(max(0.0, due_s - monotonic_s())):
                        break
                    connection.request("GET", PATHS[(asked + number) % len(PATHS)], headers={"Accept-Encoding": "gzip"})
                    asked += 1
                    answer = connection.getresponse()
                    answer.read()
                    told[str(answer.status)] += 1
            except (OSError, HTTPException):
                told["no answer"] += 1
            finally:
                connection.close()

    threads = [threading.Thread(target=phone, args=(number,)) for number in range(phones)]
    for thread in threads:
        thread.start()
    sys.stdin.read()
    over.set()
    for thread in threads:
        thread.join()
    seconds = monotonic_s() - began_s
    sys.stdout.write(json.dumps({"per_s": round(sum(told.values()) / seconds, 1), **told}) + "\n")


if __name__ == "__main__":
    main(sys.argv[1], float(sys.argv[2]))

"""Style, scripts and pictures of the pages: read once, compressed once, kept by the phone until they change.

Their addresses carry a mark of the contents of them all, so that a phone asks for each of them once and never again
until a new version is there. The plain address goes on working, and is asked again each time.
"""

import gzip
import mimetypes
from hashlib import sha256
from pathlib import Path
from typing import NamedTuple

from flask import Flask, Response, abort, request

from web.packed import LEAST_BYTES, takes_gzip
from web.roles import anybody

FOLDER = Path(__file__).parent / "static"
MARK = "v-"
FOR_EVER = "public, max-age=31536000, immutable"
ASK_AGAIN = "no-cache"
ALREADY_SMALL = (".png", ".jpg", ".woff2")


class File(NamedTuple):
    """One file as it is sent."""

    kind: str
    plain: bytes
    packed: bytes | None
    mark: str


def add_files(app: Flask, folder: Path = FOLDER) -> None:
    """Serve the files of the folder, and teach the templates their addresses: `{{ static("look.css") }}`."""
    files = {path.relative_to(folder).as_posix(): _read(path) for path in sorted(folder.rglob("*")) if path.is_file()}
    version = sha256("".join(f"{name} {file.mark}" for name, file in files.items()).encode()).hexdigest()[:12]
    app.jinja_env.globals["static"] = lambda name: f"/static/{MARK}{version}/{name}"

    @app.get("/static/<path:filename>", endpoint="static")
    @anybody
    def send(filename: str) -> Response:
        mark, _, rest = filename.partition("/")
        marked = mark.startswith(MARK) and bool(rest)
        file = files.get(rest if marked else filename)
        if file is None:
            abort(404)
        packed = file.packed if takes_gzip(request) else None
        response = app.response_class(packed or file.plain, content_type=file.kind)
        if packed:
            response.headers["Content-Encoding"] = "gzip"
        response.headers["Vary"] = "Accept-Encoding"
        response.headers["Cache-Control"] = FOR_EVER if marked and mark == MARK + version else ASK_AGAIN
        response.set_etag(f"{file.mark}{'-packed' if packed else ''}")
        response.make_conditional(request)
        return response


def _read(path: Path) -> File:
    plain = path.read_bytes()
    small = len(plain) < LEAST_BYTES or path.suffix in ALREADY_SMALL
    kind = mimetypes.guess_type(path.name)[0] or "application/octet-stream"
    charset = "; charset=utf-8" if kind.startswith("text/") else ""
    packed = None if small else gzip.compress(plain, 9, mtime=0)
    return File(kind + charset, plain, packed, sha256(plain).hexdigest()[:16])

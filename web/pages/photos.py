"""Photographs of lots and ingots: sent by the page's script, which draws each anew; shown to paired phones."""

import re

from flask import Blueprint, Response, abort, request, send_file

from supervisor.book import ingots, tree
from supervisor.book import photos as book_photos
from supervisor.book.holders import Holder
from supervisor.book.writing import Book
from web.metal import kept
from web.pages.show import answered
from web.parts import parts
from web.roles import looks, runs

photos = Blueprint("photos", __name__)

_DIGEST = re.compile(r"[0-9a-f]{64}")


@photos.get("/photos/<digest>.jpg")
@looks
def show(digest: str) -> Response:
    """One photograph, by the digest of its file."""
    path = parts().config.data / book_photos.FOLDER / f"{digest}.jpg"
    if not _DIGEST.fullmatch(digest) or not path.is_file():
        abort(404)
    response = send_file(path.resolve(), mimetype="image/jpeg", conditional=False)
    response.headers["Content-Disposition"] = "inline"
    return response


@photos.post("/photos/<name>")
@runs
def add(name: str) -> Response:
    """Keep a photograph of what has this name. The body is the picture itself."""
    if request.mimetype != "image/jpeg":
        return answered(parts().asking.refuse("The photograph is no JPEG; allowed: one that the page has drawn anew."))
    picture = request.get_data(cache=False)

    def write(book: Book) -> str:
        holder = _holder(book, name)
        count = len(book_photos.photos(book, holder)) + 1
        photo = book_photos.add(book, parts().config.data, holder, picture)
        if holder[0] == "ingot" and holder[1] is not None:
            ingots.photographed(book, ingots.ingot_of(book, holder[1]), photo.sha256)
        return f"{name.upper()}: photograph {count} is kept."

    return answered(kept(write))


def _holder(book: Book, name: str) -> Holder:
    found = tree.named(book, name, ("lot", "ingot"))
    return found.kind, found.id

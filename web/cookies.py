"""The two cookies: a paired phone's token, and that the cautions were read on a phone that is not paired."""

from flask import Response, request

from web.access import COOKIE_DAYS, cookie_name, phone
from web.parts import parts

LASTS_S = COOKIE_DAYS * 86_400


def set_token(response: Response, token: str) -> None:
    """Give the phone its token: unreadable to scripts, never sent along from another site."""
    response.set_cookie(cookie_name(parts().config), token, max_age=LASTS_S, httponly=True, samesite="Strict", path="/")


def drop_token(response: Response) -> None:
    """Take it away again."""
    response.delete_cookie(cookie_name(parts().config), path="/")


def set_read(response: Response) -> None:
    """Remember on the phone that the cautions were read."""
    name = f"{cookie_name(parts().config)}-read"
    response.set_cookie(name, "yes", max_age=LASTS_S, httponly=True, samesite="Strict", path="/")


def has_read() -> bool:
    """Whoever asks says to have read the cautions."""
    paired = phone()
    if paired and paired.cautions_utc_ms is not None:
        return True
    return request.cookies.get(f"{cookie_name(parts().config)}-read") == "yes"

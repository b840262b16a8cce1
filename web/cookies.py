"""The two cookies: a paired phone's token, and that the cautions were read on a phone that is not paired."""

from flask import Response, request

from web.access import COOKIE_DAYS, cookie_name, phone
from web.parts import parts

LASTS_S = COOKIE_DAYS * 86_400


def set_token(response: Response, token: str) -> None:
    """Give the phone its token: unreadable to scripts, never sent along from another site."""
    _set(response, cookie_name(parts().config), token)


def drop_token(response: Response) -> None:
    """Take it away again."""
    response.delete_cookie(cookie_name(parts().config), path="/", secure=request.is_secure)


def set_read(response: Response) -> None:
    """Remember on the phone that the cautions were read."""
    _set(response, f"{cookie_name(parts().config)}-read", "yes")


def has_read() -> bool:
    """Whoever asks says to have read the cautions."""
    paired = phone()
    if paired and paired.cautions_utc_ms is not None:
        return True
    return request.cookies.get(f"{cookie_name(parts().config)}-read") == "yes"


def _set(response: Response, name: str, value: str) -> None:
    secure = request.is_secure
    response.set_cookie(name, value, LASTS_S, secure=secure, httponly=True, samesite="Strict", path="/")

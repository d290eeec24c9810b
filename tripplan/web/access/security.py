"""Who may ask, and what goes with every answer: hosts, origins, pairing, form tokens, limits, headers."""

import base64
import hashlib
import hmac
import ipaddress
import secrets
from collections.abc import Mapping

from msgspec import Struct, field
from starlette.datastructures import MutableHeaders
from starlette.requests import Request
from starlette.responses import HTMLResponse, PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from tripplan.commands.terminal import say
from tripplan.web.access.keys import Keys

MOST_BODY_BYTES = 1_000_000
MOST_TRACK_BYTES, TRACK_PATH = 40_000_000, "/trip/track"
MOST_PHOTO_BYTES, PHOTO_PATH = 30_000_000, "/photo"
READING = ("GET", "HEAD", "OPTIONS")
LOCAL_NAMES = ("127.0.0.1", "localhost", "::1")
FORM_COOKIE, PAIR_COOKIE = "tripplan_form", "tripplan_pair"
POLICY = (
    "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "X-Content-Type-Options": "nosniff", "X-Frame-Options": "DENY", "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin", "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()", "Cache-Control": "no-store",
    "Content-Security-Policy": POLICY,
}  # fmt: skip
PAIR_PATH, CALENDAR_PATH = "/pair", "/calendar.ics"
MOST_TRIES, TRIES_WITHIN_S = 10, 600.0
ASK_PASSWORD = {"WWW-Authenticate": 'Basic realm="tripplan calendar", charset="UTF-8"'}
PAIR_PAGE = """<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<title>Pair this device</title><style>
:root {{ color-scheme: light dark; }} body {{ font: 1.2rem/1.4 system-ui, sans-serif; max-width: 24rem; margin: 2rem auto; padding: 0 1rem; }}
input, button {{ font: inherit; width: 100%; min-height: 3rem; box-sizing: border-box; margin: .4rem 0; border: 2px solid; padding: .3rem .7rem; }}
input {{ letter-spacing: .15em; }}
</style></head><body><main><h1>Pair this device</h1><form method="post" action="/pair">
<input type="hidden" name="csrf" value="{token}"><label for="code">The code, eight letters and digits</label>
<input id="code" name="code" autocomplete="off" autocapitalize="characters" spellcheck="false" aria-describedby="told">
<button>Pair</button></form><p id="told" role="status">{told}</p></main></body></html>
"""
OUR_FAULT = "tripplan failed; this is our fault, not yours"


class BodyTooLarge(Exception):
    """A request with more in it than any form of the page sends."""


class Access(Struct, kw_only=True):
    """Who may ask: only this machine, or on the network whoever entered the pairing code once.

    `network` is where other devices reach the page, empty when they do not. The keys are
    changed while the page is served, so they are asked for with every request.
    """

    keys: Keys = field(default_factory=Keys)
    network: str = ""
    tried: list[float] = field(default_factory=list)

    @property
    def pair(self) -> str | None:
        """The pairing code a device has to enter once; None when only this machine is answered."""
        return self.keys.pair if self.network else None

    @property
    def code(self) -> str:
        """The pairing code as it is read out and typed."""
        return f"{self.keys.pair[:4]}-{self.keys.pair[4:]}"

    @property
    def paired(self) -> str:
        """What the cookie of a paired device holds; the code cannot be told from it."""
        return self._mark(f"paired {self.keys.pair}")

    def takes(self, typed: str, now_s: float) -> bool | None:
        """Whether the code typed is the one; None, and nothing is looked at, after too many wrong ones."""
        self.tried = [at_s for at_s in self.tried if now_s - at_s < TRIES_WITHIN_S]
        if len(self.tried) >= MOST_TRIES:
            return None
        is_right = same("".join(mark for mark in typed.upper() if mark.isalnum()), self.keys.pair.upper())
        if not is_right:
            self.tried.append(now_s)
        return is_right

    @property
    def calendar(self) -> str | None:
        """The password of the calendar; None while the owner has not switched it on."""
        return self.keys.calendar if self.network else None

    @property
    def pairing_address(self) -> str:
        """What another device opens to be paired; there is no secret in it."""
        return f"{self.network}/" if self.network else ""

    @property
    def calendar_address(self) -> str:
        """Where a calendar on the network finds the plan."""
        return f"{self.network}{CALENDAR_PATH}" if self.calendar else ""

    def knows_host(self, host: str) -> bool:
        """True for a name of this machine; on the network any plain address, never a foreign name."""
        name = _host_name(host)
        if name in LOCAL_NAMES:
            return True
        return self.pair is not None and _is_address(name)

    def form_token(self, cookie: str) -> str:
        """The token a form carries for the browser that holds this cookie."""
        return self._mark(cookie)

    def _mark(self, text: str) -> str:
        secret = bytes.fromhex(self.keys.secret)
        return hmac.new(secret, text.encode("utf-8", "replace"), hashlib.sha256).hexdigest()


def same(one: str, other: str) -> bool:
    """Whether two secrets are equal, told in the same time either way."""
    return secrets.compare_digest(one.encode("utf-8", "replace"), other.encode("utf-8", "replace"))


def style_policy(page: str) -> str:
    """The policy for a page of ours that carries its style inside: that style and nothing else."""
    import re

    hashes = (
        base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
        for text in re.findall(r"<style>(.*?)</style>", page, re.S)
    )
    allowed = " ".join(f"'sha256-{one}'" for one in hashes) or "'none'"
    return f"default-src 'none'; style-src {allowed}; img-src 'self'; base-uri 'none'; frame-ancestors 'none'"


class Guard:
    """Stands before every request: refuses what is not ours, and puts the headers on every answer."""

    def __init__(self, app: ASGIApp, access: Access) -> None:
        self.app, self.access = app, access

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, or hand it on."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self.app(scope, receive, send)
            return
        asked = Request(scope)
        cookie = asked.cookies.get(FORM_COOKIE) or secrets.token_urlsafe(24)
        is_new = FORM_COOKIE not in asked.cookies
        scope.setdefault("state", {})["form_token"] = self.access.form_token(cookie)
        sent = _Sent(send, _cookie(FORM_COOKIE, cookie) if is_new else None)
        refusal = self._refusal(scope, asked)
        try:
            if refusal is not None:
                await refusal(scope, receive, sent)
            else:
                await self.app(scope, _limited(receive, most_bytes(scope)), sent)
        except Exception as error:  # whatever is unforeseen ends as one line, never as a traceback
            say(f"{OUR_FAULT}: {type(error).__name__}: {error}", error=True)
            if not sent.started:
                await _failure(error)(scope, receive, sent)

    def _refusal(self, scope: Scope, asked: Request) -> Response | None:
        if not self.access.knows_host(asked.headers.get("host", "")):
            return PlainTextResponse("This page answers only to the name of its own machine.", 421)
        if scope["method"] not in READING and not _own_origin(scope, asked.headers):
            return PlainTextResponse("Refused: the form came from another page.", 403)
        length = asked.headers.get("content-length", "0")
        if not length.isascii() or not length.isdigit() or int(length) > most_bytes(scope):
            return PlainTextResponse("Refused: more than a form of this page can hold.", 413)
        return self._pairing(scope, asked) if self.access.pair is not None else None

    def _pairing(self, scope: Scope, asked: Request) -> Response | None:
        if same(asked.cookies.get(PAIR_COOKIE, ""), self.access.paired):
            return None
        if scope["path"] == CALENDAR_PATH and self.access.calendar:
            is_known = same(_password(asked.headers.get("authorization", "")), self.access.calendar)
            return None if is_known else PlainTextResponse("Name and password, please.", 401, headers=ASK_PASSWORD)
        if scope["path"] == PAIR_PATH and scope["method"] == "POST":
            return None
        if scope["path"] == "/" and scope["method"] == "GET":
            return not_paired(scope["state"]["form_token"])
        return PlainTextResponse("Not paired. Open the page itself, and enter the code that the terminal shows.", 403)


def not_paired(form_token: str, told: str = "") -> Response:
    """The page of a device that is not paired: one field for the code, and nothing of the trip."""
    text = PAIR_PAGE.format(
        token=form_token, told=told or "The terminal shows it, and the page Hand over of a paired device."
    )
    return HTMLResponse(text, 403, headers={"Content-Security-Policy": f"{style_policy(text)}; form-action 'self'"})


def _password(header: str) -> str:
    """The password of a request that carries a name and a password (RFC 7617); empty where there is none."""
    kind, _, coded = header.partition(" ")
    try:
        return base64.b64decode(coded, validate=True).decode().partition(":")[2] if kind.lower() == "basic" else ""
    except ValueError:
        return ""


def _host_name(host: str) -> str:
    if host.startswith("["):
        return host[1:].partition("]")[0]
    return host.partition(":")[0].lower()


def _is_address(name: str) -> bool:
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return False
    return True


def _own_origin(scope: Scope, headers: Mapping[str, str]) -> bool:
    origin = headers.get("origin")
    if origin is not None:
        return origin == f"{scope.get('scheme', 'http')}://{headers.get('host', '')}"
    return headers.get("sec-fetch-site", "same-origin") in ("same-origin", "none")


def _cookie(name: str, value: str, same_site: str = "Strict") -> str:
    return f"{name}={value}; Path=/; HttpOnly; SameSite={same_site}"


def pair_cookie(access: Access) -> str:
    """The cookie by which a paired device is known, for a year or until the code is changed.

    Lax, so that the address also works when it is opened from a message; writing is guarded
    by the form's token and the origin.
    """
    return f"{_cookie(PAIR_COOKIE, access.paired, 'Lax')}; Max-Age=31536000"


def most_bytes(scope: Scope) -> int:
    """How much one request may hold: a form's worth, or that of a track or a photo where one is sent."""
    return {TRACK_PATH: MOST_TRACK_BYTES, PHOTO_PATH: MOST_PHOTO_BYTES}.get(scope["path"], MOST_BODY_BYTES)


def _limited(receive: Receive, most: int) -> Receive:
    taken = 0

    async def counted() -> Message:
        nonlocal taken
        message = await receive()
        taken += len(message.get("body", b""))
        if taken > most:
            raise BodyTooLarge("a body without a length, past the limit")
        return message

    return counted


class _Sent:
    """Sends an answer with our headers on it, and remembers that it began."""

    def __init__(self, send: Send, cookie: str | None) -> None:
        self.send, self.cookie, self.started = send, cookie, False

    async def __call__(self, message: Message) -> None:
        if message["type"] == "http.response.start":
            self.started = True
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers.setdefault(name, value)
            if self.cookie:
                headers.append("set-cookie", self.cookie)
        await self.send(message)


def _failure(error: Exception) -> Response:
    if isinstance(error, BodyTooLarge):
        return PlainTextResponse("Refused: more than a form of this page can hold.", 413)
    return PlainTextResponse(f"{OUR_FAULT}: {type(error).__name__}. Nothing was written.", 500)

"""A paired tablet that sends what waits on it, as the floor's own script does, over HTTP."""

from __future__ import annotations

import json
import urllib.request
import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from http.client import HTTPException

from builds.queries.tablets import COOKIE

LONGEST_WAIT_S = 90


@dataclass(frozen=True)
class Doing:
    """One thing that waits: where it goes, what was typed, a photo or none, and when it was done."""

    path: str
    typed: Mapping[str, str]
    photo: bytes | None = None
    once: uuid.UUID = field(default_factory=uuid.uuid4)
    done_at: datetime = field(default_factory=lambda: datetime.now(UTC))


class TabletClient:
    """`token` is the tablet's own; an answer that never comes is an OSError."""

    def __init__(self, url: str, token: str) -> None:
        self.url, self.token = url, token
        self._form_token = self._cookie = ""

    def ask(self) -> None:
        """Asks whether the shop is there, and for the word that a form needs."""
        body, headers = self._answer(urllib.request.Request(f"{self.url}/floor/state/"))
        self._form_token = json.loads(body)["token"]
        cookie = headers["Set-Cookie"] or ""
        self._cookie = cookie.split(";")[0] if "csrftoken" in cookie else self._cookie

    def send(self, doing: Doing, number: int, behind: int = 0) -> dict:
        """Sends one thing as the queue's `number`, with so many `behind` it; gives outcome and words."""
        edge = uuid.uuid4().hex
        request = urllib.request.Request(
            self.url + doing.path,
            data=_form(doing, edge),
            headers={
                "Content-Type": f"multipart/form-data; boundary={edge}",
                "X-CSRFToken": self._form_token,
                "X-Queue-Number": str(number),
                "X-Queue-Behind": str(behind),
                "X-Done-At": doing.done_at.isoformat(),
                "X-Sent-At": datetime.now(UTC).isoformat(),
            },
        )
        return json.loads(self._answer(request)[0])

    def _answer(self, request: urllib.request.Request):
        request.add_header("Cookie", f"{COOKIE}={self.token}; {self._cookie}")
        try:
            with urllib.request.urlopen(request, timeout=LONGEST_WAIT_S) as answer:
                return answer.read(), answer.headers
        except HTTPException as broken:
            raise OSError(f"The answer broke off: {broken!r}") from broken


def _form(doing: Doing, edge: str) -> bytes:
    parts = []
    for name, value in {**doing.typed, "once": str(doing.once)}.items():
        head = f'Content-Disposition: form-data; name="{name}"'
        parts.append(f"{head}\r\n\r\n{value}".encode())
    if doing.photo is not None:
        head = 'Content-Disposition: form-data; name="photo"; filename="photo.jpg"'
        parts.append(f"{head}\r\nContent-Type: image/jpeg\r\n\r\n".encode() + doing.photo)
    return b"".join(f"--{edge}\r\n".encode() + part + b"\r\n" for part in parts) + f"--{edge}--\r\n".encode()

"""The way between a tablet and the shop's machine, that a test may cut, or lose answers on.

It passes bytes on and knows nothing of HTTP but whether a request is a POST.
"""

from __future__ import annotations

import contextlib
import socket
import threading


class Wire:
    """Listens on a port of its own and passes on to `to`, a port of this machine.

    `is_cut` closes what comes in, `loses` is how many answers to a POST are lost after the machine gave them;
    `lost` and `posts` count.
    """

    def __init__(self, to: int) -> None:
        self.to = to
        self.is_cut = False
        self.loses = 0
        self.lost = 0
        self.posts = 0
        self._open: set[socket.socket] = set()
        self._listens = socket.create_server(("127.0.0.1", 0), backlog=64)
        self.port: int = self._listens.getsockname()[1]
        threading.Thread(target=self._listen, daemon=True).start()

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def cut(self) -> None:
        """From now on nothing gets through; what is under way breaks."""
        self.is_cut = True
        for end in list(self._open):
            _close(end)

    def mend(self) -> None:
        self.is_cut = False

    def close(self) -> None:
        self.cut()
        _close(self._listens)

    def _listen(self) -> None:
        while True:
            try:
                near, _ = self._listens.accept()
            except OSError:
                return
            threading.Thread(target=self._pass_on, args=(near,), daemon=True).start()

    def _pass_on(self, near: socket.socket) -> None:
        if self.is_cut:
            _close(near)
            return
        try:
            far = socket.create_connection(("127.0.0.1", self.to), timeout=60)
        except OSError:
            _close(near)
            return
        self._open |= {near, far}
        asked: list[bytes] = [b""]
        there = threading.Thread(target=self._there, args=(near, far, asked), daemon=True)
        there.start()
        self._back(near, far, asked)
        _close(near)
        _close(far)
        self._open -= {near, far}

    def _there(self, near: socket.socket, far: socket.socket, asked: list[bytes]) -> None:
        with contextlib.suppress(OSError):
            while data := near.recv(65536):
                if data.split(b" ", 1)[0] in (b"GET", b"POST", b"HEAD"):
                    asked[0] = data[:4]
                    self.posts += data.startswith(b"POST")
                far.sendall(data)
        _close(far)

    def _back(self, near: socket.socket, far: socket.socket, asked: list[bytes]) -> None:
        with contextlib.suppress(OSError):
            while data := far.recv(65536):
                if asked[0] == b"POST" and self.loses > 0:
                    self.loses -= 1
                    self.lost += 1
                    return
                near.sendall(data)


def _close(end: socket.socket) -> None:
    with contextlib.suppress(OSError):
        end.shutdown(socket.SHUT_RDWR)
    end.close()

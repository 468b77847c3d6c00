"""Asking the server of `powersim try` as a page does, and as no page would."""

import http.client
import json
import os
import re
import signal
import socket
import subprocess
import threading
from contextlib import contextmanager
from typing import NamedTuple

import stop_at_random

ADDRESS = re.compile(r"^  (http://127\.0\.0\.1:(\d+)/#([\w-]{43}))$", re.MULTILINE)
#: That a served command lives in a test. [s]
LONGEST_s = 60.0
JSON = "application/json"


class Reply(NamedTuple):
    status: int
    answer: object
    headers: object


class Page:
    """One connection that stays open, with the headers that a browser sends for our page."""

    def __init__(self, port, key, *, timeout_s=20.0):
        self.port = port
        self.connection = http.client.HTTPConnection("127.0.0.1", port, timeout=timeout_s)
        self.headers = {
            "Origin": f"http://127.0.0.1:{port}",
            "Sec-Fetch-Site": "same-origin",
            "Content-Type": JSON,
            "Powersim-Key": key,
        }

    def ask(self, question, asked=None, *, body=None, method="POST", without=(), **headers):
        """Ask; headers by name with "_" for "-", in place of the page's own."""
        sent = self.headers | {name.replace("_", "-"): text for name, text in headers.items()}
        sent = {name: text for name, text in sent.items() if name not in without}
        body = json.dumps(asked or {}).encode() if body is None else body
        return self._reply(method, f"/ask/{question}", body, sent)

    def get(self, path="/", *, method="GET", **headers):
        return self._reply(
            method, path, None, {name.replace("_", "-"): text for name, text in headers.items()}
        )

    def _reply(self, method, path, body, headers):
        self.connection.request(method, path, body, headers)
        reply = self.connection.getresponse()
        text = reply.read()
        is_json = str(reply.headers["Content-Type"]).startswith(JSON) and text
        return Reply(reply.status, json.loads(text) if is_json else text, reply.headers)

    def close(self):
        self.connection.close()

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.close()


class Asking(threading.Thread):
    """A question asked beside the test, in a connection of its own; `reply` when it has come."""

    def __init__(self, server, question):
        super().__init__(daemon=True)
        self.server, self.question, self.reply = server, question, None
        self.start()

    def run(self):
        with Page(self.server.port, self.server.key) as page:
            try:
                self.reply = page.ask(self.question)
            except (OSError, http.client.HTTPException) as error:
                self.reply = error

    def ended(self):
        """What came of it."""
        self.join(60.0)
        return self.reply


def head(page, question="echo", *, length, method="POST", version="HTTP/1.1"):
    """The head of a question, as bytes."""
    lines = [f"{method} /ask/{question} {version}", f"Host: 127.0.0.1:{page.port}"]
    lines += [f"{name}: {text}" for name, text in page.headers.items()]
    return "\r\n".join((*lines, f"Content-Length: {length}", "", "")).encode()


def connected(port, *, timeout_s=10.0):
    """A bare connection."""
    return socket.create_connection(("127.0.0.1", port), timeout=timeout_s)


def all_of(channel):
    """What comes until the other side ends."""
    parts = []
    while part := channel.recv(65536):
        parts.append(part)
    return b"".join(parts)


@contextmanager
def many(port, count):
    """So many connections at once."""
    channels = []
    try:
        for _ in range(count):
            channels.append(connected(port))  # noqa: PERF401 - those that are open get closed
        yield channels
    finally:
        for channel in channels:
            channel.close()


class Served:
    """A command that serves, as a process; with its port and key, once it has told them."""

    def __init__(self, command, environment, *, cwd=None):
        stop_at_random.heed_ctrl_c()
        self.process = subprocess.Popen(
            command,
            env=environment,
            cwd=cwd,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            start_new_session=True,
        )
        # Whatever goes wrong, no test waits for ever.
        self.timer = threading.Timer(LONGEST_s, self.process.kill)
        self.timer.daemon = True
        self.timer.start()
        self.said = ""
        while not self.said.endswith("without an open page.\n"):
            line = self.process.stdout.readline()
            if not line:
                raise AssertionError(self.said + self.process.stderr.read())
            self.said += line
        found = ADDRESS.search(self.said)
        self.address, self.port, self.key = found[1], int(found[2]), found[3]

    def page(self):
        return Page(self.port, self.key)

    def stopped(self):
        """Exit code, and what was said on standard error, after Ctrl-C as a terminal sends it."""
        os.killpg(self.process.pid, signal.SIGINT)
        return self.ended()

    def ended(self):
        out, err = self.process.communicate(timeout=20.0)
        self.said += out
        return self.process.returncode, err

    def kill(self):
        if self.process.poll() is None:
            os.killpg(self.process.pid, signal.SIGKILL)
        self.process.communicate()
        self.timer.cancel()

"""Lines: connections to callers, on which a request is read whole before a thread is taken for it.

Responsible for how long a request may take to arrive and its answer to be taken, for how long it may be, and for handing what no
application could read to the application all the same, which then says in the service's words what is wrong. Refuses to know what
is asked.
"""

import re
import socket
import time
from collections.abc import Callable
from threading import get_ident
from typing import Any

from waitress.adjustments import Adjustments
from waitress.channel import HTTPChannel
from waitress.parser import HTTPRequestParser, ParsingError
from waitress.server import TcpWSGIServer
from waitress.task import ThreadedTaskDispatcher, WSGITask
from waitress.utilities import Error

from service.limits import BODY_BYTES, FORECAST_BODY_BYTES, HEAD_BYTES, HEADER_SECONDS, IMPORT_BODY_BYTES, URI_BYTES

REFUSED = "kitchen_prep.refused"
"""Under this key of the environment stands the status by which the server refuses a request that it could not read."""
# By which status a request is refused (RFC 9110).
URI_TOO_LONG, OTHER_VERSION, UNMET_EXPECTATION, MALFORMED, TOO_SLOW = 414, 505, 417, 400, 408
KEEP_ALIVE_SECONDS = 15
LINGER_SECONDS = 2
# By their paths; bodies of all others have BODY_BYTES at most. What is longer is not received, whoever sends it.
LIMITS = {"/v1/imports": IMPORT_BODY_BYTES, "/v1/forecasts": FORECAST_BODY_BYTES}
BODY_BYTES_HELD = 64 << 10
TRAILER = re.compile(rb"(?:[^\s:]+:[^\r\n]*\r\n)*(?:\r\n)?")


def adjustments(threads: int, connections: int) -> Adjustments:
    """What a server of lines is told."""
    return Adjustments(
        threads=threads,
        connection_limit=connections,
        backlog=connections,
        # A longer one waits in a file that has no name.
        inbuf_overflow=BODY_BYTES_HELD,
        # No thread waits for a caller who takes an answer slowly.
        outbuf_high_watermark=1 << 40,
        max_request_header_size=HEAD_BYTES,
        max_request_body_size=IMPORT_BODY_BYTES + 1,
        asyncore_use_poll=True,
        cleanup_interval=1,
        # Lines have their own patience.
        channel_timeout=10**9,
        log_socket_errors=False,
        # The application reads what proxies say, as far as it is told to.
        clear_untrusted_proxy_headers=False,
        ident=None,
    )


class Head(HTTPRequestParser):
    """A request as it arrives. What makes it unreadable is the status of its error."""

    # What a request is as long as nothing of it was read.
    command, path, query, fragment, request_uri, url_scheme = "GET", "/", "", "", "/", "http"

    def __init__(self, adj: Adjustments) -> None:
        super().__init__(adj)
        self.content_length: int = 0
        self.body_rcv: Any = None
        self.began = time.monotonic()

    def received(self, data: bytes) -> int:
        """How many of some bytes belong to this request."""
        taken: int = super().received(data)
        start = (self.header_plus or data).split(b"\r\n", 1)[0]
        if not self.headers_finished and len(start) > URI_BYTES:
            self.refuse(URI_TOO_LONG)
        elif self.chunked and self.body_bytes_received > self.limit:
            self.leave_out_body(self.body_bytes_received)
        elif self.completed and self.chunked and not self.error and TRAILER.fullmatch(self.body_rcv.trailer) is None:
            self.refuse(MALFORMED)
        return taken

    def parse_header(self, header_plus: bytes) -> None:
        """Read the first line and the headers."""
        super().parse_header(header_plus)
        if self.version not in ("1.0", "1.1"):
            self.refuse(OTHER_VERSION)
        elif len(self.first_line) > URI_BYTES:
            self.refuse(URI_TOO_LONG)
        elif self.headers.get("EXPECT", "100-continue").lower() != "100-continue":
            self.refuse(UNMET_EXPECTATION)
        elif self.chunked and "CONTENT_LENGTH" in self.headers:
            raise ParsingError("a body has one length")
        elif self.content_length > self.limit:
            self.leave_out_body(self.content_length)

    @property
    def limit(self) -> int:
        """How long a body of this request's path may be at most."""
        return LIMITS.get(self.path, BODY_BYTES)

    def leave_out_body(self, length: int) -> None:
        """Let the application refuse a body by its length, after it has looked who asks; then the line ends."""
        self.headers |= {"CONTENT_LENGTH": str(length), "CONNECTION": "close"}
        self.body_rcv, self.chunked, self.content_length, self.completed = None, False, 0, True

    def refuse(self, status: int) -> None:
        """Let the request be complete, and refused."""
        self.error = Error("")
        self.error.code = status
        self.body_rcv, self.content_length, self.completed = None, 0, True


class Answered(WSGITask):
    """What the application says of a request."""

    close_on_finish: bool

    def build_response_header(self) -> bytes:
        """The head. An answer without a body ends with it and has no length to state (RFC 9112, 6.3): the line goes on all the same."""
        ends = self.close_on_finish or self.version != "1.1" or self.request.headers.get("CONNECTION", "").lower() == "close"
        head: bytes = super().build_response_header()
        if ends or self.has_body:
            return head
        self.close_on_finish = False
        return head.replace(b"\r\nConnection: close\r\n", b"\r\n", 1)


class Refused(WSGITask):
    """What the application says of a request that could not be read; the line ends with it."""

    def execute(self) -> None:
        """Answer."""
        self.version = "1.1"
        self.set_close_on_finish()
        self.get_environment()[REFUSED] = self.request.error.code
        super().execute()


class Line(HTTPChannel):
    """One connection."""

    parser_class = Head
    task_class = Answered
    error_task_class = Refused
    request: Any
    close_when_flushed = False
    ended = False
    lingers = False

    def __init__(self, *args: Any, **named: Any) -> None:
        super().__init__(*args, **named)
        self.answered = time.monotonic()

    def handle_read(self) -> None:
        """Take what has arrived; a caller who has said all may still wait for the answer."""
        try:
            data = self.socket.recv(self.adj.recv_bytes)
        except BlockingIOError:
            return
        except OSError:
            self.handle_close()
            return
        if data:
            if not self.lingers:
                self.received(data)
            return
        self.ended = True
        if self.lingers or not (self.refuse(MALFORMED) or self.requests):
            self.will_close = True

    def handle_write(self) -> None:
        """Send what is there to send. The end is said first and the line closed later: who still sends would not see the answer."""
        if self.will_close or not self.close_when_flushed:
            super().handle_write()
            return
        self._flush_exception(self._flush_some)
        if self.ended and not self.total_outbufs_len:
            self.will_close = True
        elif not self.total_outbufs_len:
            self.close_when_flushed, self.lingers, self.answered = False, True, time.monotonic()
            self.socket.shutdown(socket.SHUT_WR)

    def readable(self) -> bool:
        """Whether more is taken."""
        return not self.ended and (self.lingers or bool(super().readable()))

    def refuse(self, status: int) -> bool:
        """Refuse the request that is still arriving; whether there is one."""
        with self.requests_lock:
            if self.request is None or self.requests:
                return False
            self.request.refuse(status)
            self.requests.append(self.request)
            self.request = None
        self.server.add_task(self)
        return True

    def service(self) -> None:
        """Answer one request, in a thread."""
        # By the thread: the next request of this line may be another's before this one is through.
        self.server.working[get_ident()] = time.monotonic()
        try:
            super().service()
        finally:
            del self.server.working[get_ident()]
            self.answered = time.monotonic()
            self.server.answered += 1
            if self.ended and not self.requests:
                self.close_when_flushed = True

    def lose_patience(self, now: float, seconds: float) -> None:
        """Refuse what takes too long to arrive, and close what is silent or does not take its answer."""
        if self.request is not None and not self.lingers:
            whole = seconds if self.request.headers_finished else min(seconds, HEADER_SECONDS)
            if now - self.request.began > whole:
                self.refuse(TOO_SLOW)
        elif not self.requests:
            patience = 2 * seconds if self.total_outbufs_len else LINGER_SECONDS if self.lingers else KEEP_ALIVE_SECONDS
            self.will_close = self.will_close or now - self.answered > patience


class Listener(TcpWSGIServer):
    """One port: ``seconds`` a request may take to arrive whole. ``working`` tells since when each thread answers somebody."""

    channel_class = Line

    def __init__(
        self,
        application: Callable[..., Any],
        lines: dict[int, Any],
        threads: ThreadedTaskDispatcher,
        adj: Adjustments,
        port: Any,
        seconds: float,
    ) -> None:
        self.seconds = seconds
        self.working: dict[int, float] = {}
        self.answered = 0
        info = (port.family, port.type, port.proto, port.getsockname())
        super().__init__(application, lines, _sock=port, dispatcher=threads, adj=adj, sockinfo=info, bind_socket=False)

    def maintenance(self, now: float) -> None:
        """Look who is late, once a second."""
        del now
        for line in list(self.active_channels.values()):
            line.lose_patience(time.monotonic(), self.seconds)

    @property
    def busy(self) -> bool:
        """Whether somebody is still to be answered, or to take an answer."""
        return any(line.requests or line.request or line.total_outbufs_len for line in list(self.active_channels.values()))

    def longest(self) -> float:
        """For how many seconds the thread that has been at it longest has answered one request."""
        return time.monotonic() - min(list(self.working.values()), default=time.monotonic())

    def stop_accepting(self) -> None:
        """Let go of the port, so that callers are refused at once; lines that are open stay."""
        self.accepting = False
        self.del_channel()
        self.socket.close()

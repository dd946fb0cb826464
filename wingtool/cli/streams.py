"""Standard output that loses no answer: any encoding, a closed or broken pipe."""

import codecs
import io
import os
import signal
import sys


class _Pipe(io.FileIO):
    """Output to a reader that may leave early: what it no longer reads is dropped, the work goes on."""

    def write(self, data) -> int:
        try:
            return super().write(data) or 0
        except BrokenPipeError:
            return len(data)


PLAIN = str.maketrans("\u2212\u2013\u2014\u2018\u2019\u201c\u201d\u00d7", "---''\"\"x")


def _plainer(error: UnicodeError) -> tuple[str, int]:
    """A minus sign, dash or quotation mark in plain letters, any other as "?": -5 must not become ?5."""
    assert isinstance(error, UnicodeEncodeError)
    plain = error.object[error.start : error.end].translate(PLAIN).replace("\u00b0", " deg")
    return plain.encode("ascii", "replace").decode(), error.end


def ready() -> None:
    """Make both standard channels fit to print on; end on SIGTERM as on Ctrl-C, with everything put away.

    A letter that the channel's encoding lacks becomes a plain one or ``?``, a channel that was closed leads
    nowhere.
    """
    codecs.register_error("plainer", _plainer)
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if stream is None:
            setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))  # noqa: SIM115  for the whole process
        elif type(stream) is io.TextIOWrapper:  # not a stand-in of somebody who runs us in his process
            stream.reconfigure(errors="plainer")
            if not stream.isatty():
                setattr(sys, name, _unbreakable(stream))
    if hasattr(signal, "SIGTERM"):
        signal.signal(signal.SIGTERM, signal.default_int_handler)


def _unbreakable(stream: io.TextIOWrapper) -> io.TextIOWrapper:
    stream.flush()
    raw = _Pipe(stream.fileno(), "w", closefd=False)
    buffered = io.BufferedWriter(raw)
    return io.TextIOWrapper(buffered, stream.encoding, "plainer", line_buffering=stream.line_buffering)

"""Settings of an instrument that answers requests."""

from __future__ import annotations

import msgspec

from drivers.errors import SettingsError
from drivers.instruments.checks import check_names, check_range, check_text
from drivers.instruments.line_settings import LineSettings, check_lines


class RequestSettings(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    r"""One request and the line that answers it.

    Attributes:
        send: What is sent, with its line end: ``"T?\r\n"``.
        fields: Name of the signal in each field of the reply; ``""`` for a field to skip.
        prefix: What the reply begins with, in place of the instrument's own prefix. A reply
            with a prefix of its own is never mistaken for another.
    """

    send: str
    fields: tuple[str, ...]
    prefix: str = ""


class SerialPolledSettings(LineSettings, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """An instrument that speaks when it is asked, one line for each request.

    Attributes:
        requests: What is asked in each poll, one after the other.
        period_s: Time between two polls, in s of data time.
        reply_timeout_s: How long a reply may take, in s of real time: more than the slowest
            reply ever takes. After a reply that did not come, the line is left alone as long
            again, so that a late one is not taken for the next.
        retries: How often a request without a good reply is repeated in the same poll.
        lost_after: Polls in a row without any good reply after which the link counts as lost.
    """

    requests: tuple[RequestSettings, ...]
    period_s: float = 1.0
    reply_timeout_s: float = 0.5
    retries: int = 1
    lost_after: int = 3


def check(settings: SerialPolledSettings) -> None:
    """Look at the settings as a whole.

    Raises:
        SettingsError: They make no sense.
    """
    if not settings.requests:
        raise SettingsError("requests", 'is empty; write { send = "T?\\r\\n", fields = ["t"] }')
    for place, request in enumerate(settings.requests):
        check_lines(settings, request.fields, f"requests[{place}].fields")
        check_text(f"requests[{place}].prefix", request.prefix)
        if not request.send.strip() or not request.send.isascii():
            raise SettingsError(f"requests[{place}].send", "must be some ASCII text to send")
    check_names(signals(settings), "requests")
    check_range("period_s", settings.period_s, (0.001, 86400), "s")
    check_range("reply_timeout_s", settings.reply_timeout_s, (0.001, 600), "s")
    check_range("retries", settings.retries, (0, 100), "")
    check_range("lost_after", settings.lost_after, (1, 1_000_000), "polls")


def signals(settings: SerialPolledSettings) -> tuple[str, ...]:
    """Give the signals, in the order of requests and fields."""
    return tuple(name for request in settings.requests for name in request.fields if name)

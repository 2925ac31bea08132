r"""Tests for drivers.instruments.polled_settings.

Source: hand-worked here.
"""

from __future__ import annotations

import msgspec
import pytest

from drivers.errors import SettingsError
from drivers.instruments.polled_settings import SerialPolledSettings, check, signals

ASK = {"send": "T?\r\n", "fields": ["t"]}


def settings(**given_settings: object) -> SerialPolledSettings:
    """Make settings with one request, but for what is given."""
    entry = {"port": "/dev/none", "requests": [ASK], **given_settings}
    return msgspec.convert(entry, SerialPolledSettings)


def test_good_settings_pass() -> None:
    made = settings(requests=[ASK, {"send": "P?\r", "fields": ["", "p"], "prefix": "P"}])

    check(made)

    assert signals(made) == ("t", "p")


@pytest.mark.parametrize(
    "given_settings",
    [
        {"period_s": 0.001, "reply_timeout_s": 0.001, "retries": 0, "lost_after": 1},
        {"period_s": 86400, "reply_timeout_s": 600, "retries": 100, "lost_after": 1_000_000},
    ],
)
def test_settings_at_their_bounds_pass(given_settings: dict[str, object]) -> None:
    made = settings(**given_settings)

    check(made)

    assert made.retries == given_settings["retries"]


@pytest.mark.parametrize(
    ("given_settings", "key", "problem"),
    [
        ({"requests": []}, "requests", "is empty"),
        ({"requests": [ASK, ASK]}, "requests", "stands twice"),
        ({"requests": [{"send": "", "fields": ["t"]}]}, "requests[0].send", "some ASCII"),
        ({"requests": [{"send": "\r\n", "fields": ["t"]}]}, "requests[0].send", "some ASCII"),
        ({"requests": [{"send": "T\xb0", "fields": ["t"]}]}, "requests[0].send", "some ASCII"),
        ({"requests": [{"send": "T?", "fields": [""]}]}, "requests[0].fields", "no signal"),
        ({"requests": [{**ASK, "prefix": "\n"}]}, "requests[0].prefix", "line ends"),
        ({"period_s": 0}, "period_s", "is not from"),
        ({"period_s": 86401}, "period_s", "is not from"),
        ({"reply_timeout_s": 601}, "reply_timeout_s", "is not from"),
        ({"retries": 101}, "retries", "is not from"),
        ({"reply_timeout_s": 0}, "reply_timeout_s", "is not from"),
        ({"retries": -1}, "retries", "is not from"),
        ({"lost_after": 0}, "lost_after", "is not from"),
        ({"baud": 0}, "baud", "no speed"),
    ],
)
def test_settings_that_make_no_sense_are_refused(
    given_settings: dict[str, object], key: str, problem: str
) -> None:
    with pytest.raises(SettingsError, match=problem) as refused:
        check(settings(**given_settings))

    assert refused.value.key == key


def test_an_unknown_setting_of_a_request_is_refused() -> None:
    with pytest.raises(msgspec.ValidationError, match="unknown field `sent`"):
        settings(requests=[{"sent": "T?", "fields": ["t"]}])

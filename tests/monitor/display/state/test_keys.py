"""Tests for monitor.display.state.keys.

Source: hand-worked here.
"""

from __future__ import annotations

from monitor.display.state.keys import KEY, KEYS


def test_no_two_things_share_a_key_or_a_name() -> None:
    assert len({key.keys for key in KEYS}) == len(KEYS)
    assert len(KEY) == len(KEYS)


def test_a_button_says_its_key() -> None:
    assert KEY["acknowledge"].with_key == "Acknowledge  F8"


def test_each_key_says_in_a_sentence_what_it_does() -> None:
    assert all(key.does.endswith(".") and key.does[0].isupper() for key in KEYS)


def test_keys_of_a_group_stand_together() -> None:
    groups = [key.group for key in KEYS]

    assert groups == sorted(groups, key=groups.index)

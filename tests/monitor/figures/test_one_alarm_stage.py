"""Tests for monitor.figures.one_alarm.

Source: the alarm stage itself: whatever happens, what is read off its journal must say of each
alarm what its own status says.
"""

from __future__ import annotations

import numpy as np
import pytest

from monitor.alarms.stage import Alarms
from monitor.alarms.status import AlarmStatus
from monitor.figures.one_alarm import OneAlarm
from tests.monitor.alarms.histories import history_of


def read_off(alarm: OneAlarm) -> tuple[bool, bool, bool]:
    """Say whether an alarm is shown, stands and waits, after its events so far."""
    timers = (alarm.shown, alarm.standing, alarm.waiting)
    shown, standing, waiting = (timer.since_ns is not None for timer in timers)
    return shown, standing, waiting


def known(status: AlarmStatus) -> tuple[bool, bool, bool]:
    """Say the same as the stage knows it."""
    is_shown = status.is_annunciated
    return is_shown, is_shown and status.is_active, is_shown and not status.is_acknowledged


@pytest.mark.parametrize("seed", range(40))
def test_the_journal_tells_what_the_stage_knows(seed: int) -> None:
    history = history_of(np.random.default_rng(seed))
    stage = Alarms(history.plan, 0)
    alarms = [OneAlarm(one.id) for one in history.plan.alarms]
    shown = 0
    for until_ns in sorted({item.t_ns for item in history.items}):
        due = [item for item in history.items if item.t_ns == until_ns]
        events, _ = stage.step(due, until_ns, lambda i, _t: history.quality[i])
        for event in events:
            for alarm, status in zip(alarms, stage.status, strict=True):
                if event.subject == status.id:
                    alarm.take(event)
        states = [known(status) for status in stage.status]
        shown += sum(state[0] for state in states)

        assert [read_off(alarm) for alarm in alarms] == states
    assert shown > 0

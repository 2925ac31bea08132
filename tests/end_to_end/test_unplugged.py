"""Tests for an engine whose wires are pulled: a serial port, a broker.

Source: hand-worked here. The port is a real pseudo-terminal, the broker a real mosquitto, the
engine a process of its own; times allowed are the stand's own plus what a busy machine takes.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from monitor.samples import Quality
from tests.end_to_end.engine_process import Told, engine
from tests.peers import Mosquitto, PtyPort

STALE_AFTER_S = 0.6
#: How long a link alarm stays once the link is back, where its table does not say.
LINK_STAYS_S = 2.0
#: What a busy machine may add, in seconds.
SLACK_S = 1.5

STAND = f"""
[stand]
name = "bench"
title = "Bench"
lag_s = 0.1

[instruments.panel]
kind = "serial_lines"
port = "@PORT@"
fields = ["pressure"]
[instruments.panel.alarm]
priority = "high"
on_delay_s = 0.1

[instruments.node]
kind = "mqtt"
host = "127.0.0.1"
port = @BROKER@
topics = [{{ topic = "rig/temperature", signal = "temperature" }}]
[instruments.node.alarm]
priority = "high"
on_delay_s = 0.1

[channels.PT-1]
title = "Pressure"
unit = "bar"
source = "panel.pressure"
stale_after_s = {STALE_AFTER_S}
span = [0, 100]
[channels.PT-1.limits.high]
setpoint = 50
priority = "high"
message = "Pressure high"
response = "Vent it"

[channels.TT-1]
title = "Temperature"
unit = "degC"
source = "node.temperature"
stale_after_s = {STALE_AFTER_S}
span = [0, 100]
[channels.TT-1.limits.high]
setpoint = 50
priority = "high"
message = "Temperature high"
response = "Cool it"

[[phases]]
name = "ground"
title = "Ground"
note = ""
"""
PRESSURE, TEMPERATURE = 0, 1


@pytest.fixture
def port(tmp_path: Path) -> Iterator[PtyPort]:
    made = PtyPort(tmp_path)
    yield made
    made.close()


@pytest.fixture
def broker(tmp_path: Path) -> Iterator[Mosquitto]:
    made = Mosquitto(tmp_path)
    made.start()
    yield made
    made.kill()


@pytest.fixture
def stand_file(tmp_path: Path, port: PtyPort, broker: Mosquitto) -> Path:
    text = STAND.replace("@PORT@", str(port.path)).replace("@BROKER@", str(broker.port))
    path = tmp_path / "bench.toml"
    path.write_text(text, encoding="utf-8")
    return path


async def test_a_port_unplugged_is_stale_in_time_alarmed_and_comes_back_by_itself(
    stand_file: Path, port: PtyPort, tmp_path: Path
) -> None:
    with engine(stand_file, tmp_path) as watched:
        async with watched.client() as client, Told(client) as told:
            await told.event("link.up", "panel")
            port.send(b"0\n12.5\n")
            await told.until(lambda: told.newest[PRESSURE] == 12.5)
            port.unplug()
            down = await told.event("link.down", "panel", STALE_AFTER_S + SLACK_S)
            await told.until(lambda: told.newest[PRESSURE] is None, STALE_AFTER_S + SLACK_S)
            await told.event("alarm.raised", "link:panel.high", SLACK_S)
            assert told.quality[PRESSURE] in (Quality.LINK_LOST, Quality.STALE)
            assert told.newest[TEMPERATURE] is None

            port.plug()
            await told.event("link.up", "panel")
            port.send(b"0\n60.0\n")
            await told.until(lambda: told.newest[PRESSURE] == 60.0)
            await told.event("alarm.raised", "PT-1.high", SLACK_S)
            await told.event("alarm.cleared", "link:panel.high", LINK_STAYS_S + SLACK_S)
        assert watched.close() == 0

    assert down.fields["why"]


async def test_a_port_that_falls_silent_is_stale_in_time(
    stand_file: Path, port: PtyPort, tmp_path: Path
) -> None:
    with engine(stand_file, tmp_path) as watched:
        async with watched.client() as client, Told(client) as told:
            await told.event("link.up", "panel")
            port.send(b"0\n12.5\n")
            await told.until(lambda: told.newest[PRESSURE] == 12.5)
            raised = await told.event("alarm.raised", "PT-1.stale", STALE_AFTER_S + SLACK_S)

            assert told.quality[PRESSURE] == Quality.STALE
        watched.close()

    assert raised.t_ns > 0


async def test_a_broker_killed_is_stale_in_time_alarmed_and_comes_back_by_itself(
    stand_file: Path, broker: Mosquitto, tmp_path: Path
) -> None:
    with engine(stand_file, tmp_path) as watched:
        async with watched.client() as client, Told(client) as told:
            await told.event("link.up", "node")
            broker.publish("rig/temperature", "21.5")
            await told.until(lambda: told.newest[TEMPERATURE] == 21.5)
            broker.kill()
            await told.event("link.down", "node", STALE_AFTER_S + SLACK_S)
            await told.until(lambda: told.newest[TEMPERATURE] is None, STALE_AFTER_S + SLACK_S)
            await told.event("alarm.raised", "link:node.high", SLACK_S)

            broker.start()
            await told.event("link.up", "node")
            broker.publish("rig/temperature", "60.0")
            await told.until(lambda: told.newest[TEMPERATURE] == 60.0)
            await told.event("alarm.raised", "TT-1.high", SLACK_S)
        assert watched.close() == 0


async def test_garbage_on_the_wire_is_counted_and_the_next_line_is_read(
    stand_file: Path, port: PtyPort, tmp_path: Path
) -> None:
    with engine(stand_file, tmp_path) as watched:
        async with watched.client() as client, Told(client) as told:
            await told.event("link.up", "panel")
            port.send(b"\xff\xfe\x00\x80garbage\nno number\n1e999\n7.5,8\n12.5\n")
            await told.until(lambda: told.newest[PRESSURE] == 12.5)
            await told.until(lambda: sum(told.counts("panel").values()) >= 4)
        watched.close()

    assert len(told.counts("panel")) >= 3

"""The page of links and health: every instrument, and every thing that was ever dropped."""

from __future__ import annotations

from dataclasses import dataclass

from monitor.display.state.connection import Connection, Freshness
from monitor.display.state.model import Model
from monitor.display.state.severity import Severity
from monitor.display.state.text import bytes_text, clock_text, duration_text, plain_number
from monitor.link.messages import LinkState

#: Words of counters that should stay at nought.
_LOSSY = ("dropped", "lost", "late", "not understood", "unknown", "faults", "given up")


@dataclass(frozen=True, slots=True)
class LinkRow:
    """One instrument's link."""

    instrument: str
    state: str
    lasting: str
    why: str
    cure: str
    readings: str
    newest: str
    severity: Severity


@dataclass(frozen=True, slots=True)
class CounterRow:
    """One figure: whose, what, how many, and an example or a remark."""

    where: str
    what: str
    number: str
    example: str
    severity: Severity


def link_rows(model: Model, now_ns: int, fresh: Freshness) -> tuple[LinkRow, ...]:
    """List the instruments' links in the order of the stand."""
    order = {name: number for number, name in enumerate(model.index.stand.instruments)}
    links = sorted(
        model.links.values(), key=lambda link: order.get(link.instrument, len(order))
    )
    return tuple(_link_row(link, now_ns, fresh) for link in links)


def _link_row(link: LinkState, now_ns: int, fresh: Freshness) -> LinkRow:
    """Build the row of one link."""
    newest = "none yet"
    if link.last_reading_ns:
        newest = f"{duration_text(now_ns - link.last_reading_ns)} ago"
    severity = Severity.CALM if link.is_up else Severity.BAD
    return LinkRow(
        instrument=link.instrument,
        state="up" if link.is_up else "DOWN",
        lasting=duration_text(now_ns - link.since_ns) if link.since_ns else "",
        why=link.why,
        cure=link.cure,
        readings=f"{link.readings}",
        newest=newest,
        severity=Severity.FROZEN if fresh.is_frozen else severity,
    )


def counter_rows(
    model: Model | None, connection: Connection, own: tuple[tuple[str, int], ...]
) -> tuple[CounterRow, ...]:
    """List every counter: instruments first, then the engine, the record and this display."""
    rows = _of_instruments(model) + _of_engine(model) if model is not None else []
    rows += [_counted("this display", what, number) for what, number in connection.counts]
    rows += [_counted("this display", what, number) for what, number in own]
    return tuple(rows)


def _of_instruments(model: Model) -> list[CounterRow]:
    """List what each instrument dropped, garbled or retried."""
    return [
        CounterRow(
            link.instrument, what, f"{number}", link.examples.get(what, ""),
            Severity.DOUBT if number else Severity.CALM,
        )
        for link in model.links.values()
        for what, number in sorted(link.counts.items())
    ]  # fmt: skip


def _of_engine(model: Model) -> list[CounterRow]:
    """List the engine's own figures and the state of the record."""
    rows = [
        CounterRow(
            "watch", what.replace("_", " "), plain_number(number), "", _lossy(what, number)
        )
        for what, number in model.health.items()
    ]
    record = model.recording
    synced = clock_text(record.synced_until_ns) if record.synced_until_ns else "not yet"
    fine = Severity.CALM if record.state != "stopped" else Severity.BAD
    rows.append(CounterRow("record", "state", record.state, record.why, fine))
    written = bytes_text(record.bytes_written)
    rows.append(CounterRow("record", "written", written, record.folder, Severity.CALM))
    rows.append(CounterRow("record", "safe on disk up to", synced, "UTC", Severity.CALM))
    for what, number in (
        ("journal lines no longer in the event list", model.event_total - len(model.events)),
        ("parts of messages about unknown channels or alarms", model.strange),
        ("pieces of history that came too late", model.late_history),
    ):
        rows.append(_counted("this display", what, number))
    return rows


def _counted(where: str, what: str, number: int) -> CounterRow:
    """Build a row for a plain counter."""
    return CounterRow(where, what, f"{number}", "", _lossy(what, number))


def _lossy(what: str, number: float) -> Severity:
    """Make a counter stand out whose words speak of loss, once it counts."""
    is_lossy = any(word in what for word in _LOSSY)
    return Severity.DOUBT if number and is_lossy else Severity.CALM

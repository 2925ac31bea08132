"""Tests for monitor.display.state.register_text.

Source: hand-worked here.
"""

from __future__ import annotations

from monitor.display.state.model import Model
from monitor.display.state.register import register_rows
from monitor.display.state.register_text import register_text
from monitor.link.messages import PhaseState, Value
from tests.monitor.display.made import NOON, NS, model
from tests.monitor.display.rich import at_rest, rich_model

NOW = NOON + 65 * NS
GOOD = [Value(NOON, 5.0, 0)] * 3


def lines(run: Model) -> list[str]:
    """Write the register and cut it into lines."""
    return register_text(run, register_rows(run, NOW), NOW).splitlines()


def test_the_head_says_which_run_when_and_in_which_phase_and_mode() -> None:
    assert lines(rich_model(at_rest("PT-1.low", is_suppressed=True), values=GOOD))[:4] == [
        "Register of what is inhibited: Leak bench",
        "Run run-1, 2026-03-01 12:01:05 UTC",
        "Phase Fill, mode Normal",
        "1 inhibited",
    ]


def test_sections_are_tables_under_their_headings() -> None:
    quiet = at_rest("PT-1.low", is_suppressed=True, suppressed_since_ns=NOON)
    written = lines(rich_model(quiet, values=GOOD))

    start = written.index("Suppressed in this phase or mode (1)")
    head, row = written[start + 1 : start + 3]
    assert head.split("  ")[1] == "What"
    assert row.startswith("  PT-1 low  by design in phase Fill  12:00:00  end of Fill")
    assert row.index("12:00:00") == head.index("Since")


def test_an_empty_register_says_so_and_can_still_be_signed() -> None:
    written = lines(model(values=GOOD, phase=PhaseState("fill", NOON)))

    assert written[2:4] == ["Phase Fill", "Nothing is inhibited"]
    assert written[-1].startswith("Handed over by: ___")


def test_a_phase_that_lasts_too_long_is_handed_over_as_well() -> None:
    written = lines(rich_model(values=GOOD, phase=PhaseState("fill", NOON, "", 0, True)))

    assert "The phase lasts longer than it may: what it suppresses speaks again" in written

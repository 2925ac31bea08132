"""Colours by meaning. The only place with colours in it, and each is checked for contrast."""

from __future__ import annotations

from dataclasses import dataclass

from monitor.display.state.severity import Severity


@dataclass(frozen=True, slots=True)
class Palette:
    """Light on dark, grey while all is well; every colour is for something abnormal.

    Attributes:
        ground: Behind everything.
        panel: Behind tables and charts.
        raised: Buttons, headings, selected rows.
        edge: Lines between parts; says nothing by itself.
        text: What is read first.
        quiet: Captions, good values' quality, units.
        ink: Text on a filled colour of alarm.
        focus: Frame of the part that the keyboard speaks to.
        normal: Stretch of a band bar in which no limit is passed.
        pointer: Value on a band bar.
        hatch: Stripes over what is no longer the present.
        doubt: Valid with a doubt; something to know.
        bad: Not valid, link down, not recording.
        top: Priorities of alarms, most urgent first.
        lines: Lines of a chart, told apart by their labels as well.
    """

    ground: str = "#191b1d"
    panel: str = "#212427"
    raised: str = "#33383d"
    edge: str = "#454b51"
    text: str = "#dde1e4"
    quiet: str = "#a3abb2"
    ink: str = "#14110f"
    focus: str = "#aebfcc"
    normal: str = "#5b646c"
    pointer: str = "#eef1f3"
    hatch: str = "#8b939a"
    doubt: str = "#b9b3e6"
    bad: str = "#d58ff0"
    top: str = "#ff788c"
    high: str = "#ffa14a"
    medium: str = "#f2d956"
    low: str = "#86c5ff"
    lines: tuple[str, ...] = ("#d3d7da", "#8fb9cc", "#a9c49a", "#cdb08e", "#b6a4c9", "#8cc2b8")

    def of(self, severity: Severity) -> str:
        """Give the colour that a severity is written in, on *ground* or *panel*."""
        return {
            Severity.CALM: self.text,
            Severity.QUIET: self.quiet,
            Severity.FROZEN: self.quiet,
            Severity.DOUBT: self.doubt,
            Severity.BAD: self.bad,
            Severity.LOW: self.low,
            Severity.MEDIUM: self.medium,
            Severity.HIGH: self.high,
            Severity.TOP: self.top,
        }[severity]

    def of_priority(self, priority: str) -> str:
        """Give the colour of an alarm's priority; quiet for unknown words."""
        try:
            return self.of(Severity(priority))
        except ValueError:
            return self.quiet


PALETTE = Palette()

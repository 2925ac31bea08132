"""The one style sheet. Severity is a dynamic property; after a change: :func:`restyle`."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from monitor.display.state.severity import Severity
from monitor.display.theme.palette import Palette

#: Type sizes in pixels: nothing on the screen is smaller than the first.
SMALL_PX = 13
BODY_PX = 14
VALUE_PX = 16
TITLE_PX = 19
FAMILIES = '"DejaVu Sans", "Noto Sans", "Segoe UI", sans-serif'


def restyle(widget: QWidget, severity: Severity | str) -> None:
    """Set a widget's severity and let the style sheet see it. Cheap when it is the same."""
    if widget.property("severity") == str(severity):
        return
    widget.setProperty("severity", str(severity))
    widget.style().unpolish(widget)
    widget.style().polish(widget)


def style_sheet(colours: Palette) -> str:
    """Write the style sheet of the whole display."""
    return "\n".join(
        (_base(colours), _controls(colours), _tables(colours), _severities(colours))
    )


def _base(c: Palette) -> str:
    """Write what holds for every part."""
    return f"""
* {{ font-family: {FAMILIES}; font-size: {BODY_PX}px; color: {c.text}; }}
QWidget {{ background: {c.ground}; }}
QLabel, QWidget[role="clear"] {{ background: transparent; border: none; }}
QLabel[role="caption"] {{ color: {c.quiet}; font-size: {SMALL_PX}px; }}
QLabel[role="title"] {{ font-size: {TITLE_PX}px; font-weight: bold; }}
QLabel[role="fact"] {{ font-size: {VALUE_PX}px; }}
QLabel[role="heading"] {{ font-size: {VALUE_PX}px; font-weight: bold; }}
QLabel[role="abort"] {{ background: {c.top}; color: {c.ink}; font-size: {VALUE_PX}px;
    font-weight: bold; padding: 3px 6px; }}
QLabel[role="quiet"] {{ color: {c.quiet}; }}
QLabel[role="command"] {{ font-family: "DejaVu Sans Mono", monospace; font-size: {VALUE_PX}px;
    background: {c.panel}; border: 1px solid {c.edge}; padding: 6px 10px; }}
QFrame[role="panel"] {{ background: {c.panel}; border: 1px solid {c.edge}; }}
QFrame[role="strip"] {{ background: {c.panel}; border: none;
    border-bottom: 1px solid {c.edge}; }}
QFrame[role="banner"] {{ background: {c.bad}; border: none; }}
QFrame[role="banner"] QLabel {{ color: {c.ink}; font-size: {VALUE_PX}px; }}
QToolTip {{ background: {c.raised}; color: {c.text}; border: 1px solid {c.focus};
    padding: 4px; }}
QDialog {{ border: 1px solid {c.focus}; background: {c.panel}; }}
QSplitter::handle {{ background: {c.ground}; }}
"""


def _controls(c: Palette) -> str:
    """Write buttons, fields and scroll bars."""
    return f"""
QPushButton {{ background: {c.raised}; border: 1px solid {c.edge}; border-radius: 2px;
    padding: 3px 5px; min-height: 20px; font-size: {SMALL_PX}px; }}
QPushButton:focus {{ border: 2px solid {c.focus}; padding: 2px 4px; }}
QPushButton:pressed, QPushButton:checked {{ background: {c.edge};
    border: 1px solid {c.focus}; }}
QPushButton:checked:focus {{ border: 2px solid {c.focus}; padding: 2px 4px; }}
QPushButton:disabled {{ color: {c.quiet}; background: {c.panel}; }}
QLineEdit, QPlainTextEdit, QSpinBox, QComboBox {{ background: {c.ground};
    border: 1px solid {c.edge}; padding: 3px; selection-background-color: {c.edge};
    selection-color: {c.text}; min-height: 22px; }}
QLineEdit:focus, QPlainTextEdit:focus, QSpinBox:focus, QComboBox:focus {{
    border: 1px solid {c.focus}; }}
QSpinBox::up-button, QSpinBox::down-button {{ width: 0; border: none; }}
QComboBox QAbstractItemView {{ background: {c.panel}; border: 1px solid {c.focus};
    selection-background-color: {c.edge}; selection-color: {c.text}; }}
QScrollBar:vertical {{ background: {c.panel}; width: 11px; margin: 0; }}
QScrollBar::handle:vertical {{ background: {c.edge}; min-height: 30px; }}
QScrollBar:horizontal {{ background: {c.panel}; height: 11px; margin: 0; }}
QScrollBar::handle:horizontal {{ background: {c.edge}; min-width: 30px; }}
QScrollBar::add-line, QScrollBar::sub-line {{ width: 0; height: 0; }}
QScrollBar::add-page, QScrollBar::sub-page {{ background: {c.panel}; }}
"""


def _tables(c: Palette) -> str:
    """Write tables and lists."""
    return f"""
QAbstractItemView {{ background: {c.panel}; border: 1px solid {c.edge}; outline: 0;
    gridline-color: {c.ground}; }}
QListWidget {{ selection-background-color: {c.raised}; selection-color: {c.text}; }}
QAbstractItemView:focus {{ border: 2px solid {c.focus}; }}
QHeaderView {{ border: none; background: {c.panel}; }}
QHeaderView::section {{ background: {c.panel}; color: {c.quiet}; border: none;
    border-bottom: 1px solid {c.edge}; padding: 3px 5px; font-size: {SMALL_PX}px; }}
QTableCornerButton::section {{ background: {c.panel}; border: none; }}
QPlainTextEdit[role="response"] {{ background: {c.panel}; border: none;
    font-size: {VALUE_PX}px; }}
QPlainTextEdit[role="response"]:focus {{ border: 2px solid {c.focus}; }}
"""


def _severities(c: Palette) -> str:
    """Write one rule for each severity that is not calm; words and shapes say it as well."""
    calm = (Severity.CALM, Severity.QUIET)
    loud = [severity for severity in Severity if severity not in calm]
    return "\n".join(
        f'QLabel[severity="{severity}"] {{ color: {c.of(severity)}; font-weight: bold; }}'
        for severity in loud
    )

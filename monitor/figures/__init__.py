"""Alarm figures by ISA-18.2 and EEMUA 191: how many alarms, in floods, of which sort. Pure."""

from __future__ import annotations

from monitor.figures.assess import Row, Verdict, assess
from monitor.figures.report import Report, RunJournal, alarm_figures

__all__ = ["Report", "Row", "RunJournal", "Verdict", "alarm_figures", "assess"]

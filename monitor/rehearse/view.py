"""What a rehearsal found, as one text: for people, or for other programs."""

from __future__ import annotations

from monitor.rehearse.json_view import json_text
from monitor.rehearse.report import report_lines
from monitor.rehearse.suggest_report import suggest_lines
from monitor.rehearse.together import Rehearsal


def shown(found: Rehearsal, *, as_json: bool) -> str:
    """Write everything that was found.

    Args:
        found: What was found.
        as_json: One JSON document in place of lines for people.
    """
    if as_json:
        return json_text(found)
    lines = report_lines(found.outcomes)
    if found.suggestion is not None:
        lines += ["", *suggest_lines(found.suggestion)]
    return "\n".join(lines)

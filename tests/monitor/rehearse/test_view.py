"""Tests for monitor.rehearse.view.

Source: hand-worked here.
"""

from __future__ import annotations

import json
from typing import Any

from monitor.rehearse.together import rehearse_all
from monitor.rehearse.view import shown


def test_for_people_the_suggestion_stands_behind_what_differs(
    bench: Any, new_stand: Any
) -> None:
    bench.ramp([1, 12, 1])
    bench.close()
    found = rehearse_all([bench.folder], new_stand(), "PT-1.high")

    lines = shown(found, as_json=False).splitlines()

    assert "nothing differs; 1 alarm is the same" in lines[0]
    assert lines[1:3] == ["", lines[2]]
    assert lines[2].startswith("PT-1.high: setpoint 10 bar")


def test_without_a_suggestion_it_is_the_report_alone(bench: Any, new_stand: Any) -> None:
    bench.close()
    found = rehearse_all([bench.folder], new_stand())

    assert len(shown(found, as_json=False).splitlines()) == 1


def test_for_programs_it_is_one_document(bench: Any, new_stand: Any) -> None:
    bench.close()
    found = rehearse_all([bench.folder], new_stand())

    assert json.loads(shown(found, as_json=True))["runs"][0]["run"] == bench.folder.name

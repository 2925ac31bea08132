"""Tests for monitor.pipeline.

Source: A second, slow implementation of the same rules (``reference/slow.py``), written sample
by sample; both must tell the same events, to the nanosecond and the last bit of a value.
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.monitor.reference.inputs import START_NS, arrivals, plan_of, run_in_cuts
from tests.monitor.reference.slow import slow_events

END_NS = START_NS + 60 * 10**9


@pytest.mark.parametrize("seed", range(1000, 1200))
def test_the_pipeline_tells_what_the_slow_reference_tells(seed: int) -> None:
    plan, rows = plan_of(), arrivals(np.random.default_rng(seed))

    slow = slow_events(plan, rows, START_NS, END_NS)

    assert len(slow) > 5
    assert list(run_in_cuts(plan, rows, [END_NS]).events) == slow

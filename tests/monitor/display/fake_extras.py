"""What the synthetic stand has beside plain limits: other kinds, phases, abort criteria."""

from __future__ import annotations

from monitor.link.messages import AbortInfo, LimitInfo, ModeInfo, PhaseInfo

PHASES = [
    PhaseInfo(
        "ground", "Ground", "Cabin follows ambient; cooling by water boiling does not work.",
        planned_s=900,
    ),
    PhaseInfo("climb", "Climb", "Chamber falls; relief may open.", "test", 2400, 3600),
    PhaseInfo(
        "hold", "Hold", "All regulators at their settings; make-up flow about 0.6 g/min.",
        "hold", 1800,
    ),
    PhaseInfo(
        "forced", "Forced decompression",
        "Breathing interface closed first; cabin falls fast.", "test", 300, 600, False,
        "from hold when PT-101 below 20 kPa for 10 s and PT-401 below 30 kPa",
    ),
    PhaseInfo(
        "descent", "Descent",
        "Ambient inlet opens below 8000 m; emergency flow is expected.", planned_s=2700,
    ),
    PhaseInfo("stand_down", "Stand-down", "Nobody tests; work on the rig.", is_quiet=True),
    PhaseInfo(
        "abort", "Abort", "Emergency flow on, down to the ground at once.", "abort", 1200,
    ),
]  # fmt: skip
MODES = [
    ModeInfo("normal", "Normal", "Cabin and loop are both held at pressure."),
    ModeInfo("loop_only", "Loop only", "The cabin follows ambient; only the loop is held."),
    ModeInfo("emergency", "Emergency flow", "Straight from the bottles; conditioning is off."),
]
ABORTS = [
    AbortInfo(
        "UA-901.abort", "Loop cannot be held",
        "PT-301.low_low and not PT-401.low",
        ["PT-301.low_low", "PT-401.low"],
        "Emergency flow on, breathing interface closed, descend to the ground",
    ),
    AbortInfo(
        "UA-902.abort", "Oxygen lost in the loop",
        "AT-301.low and (PT-301.low or FT-201.rate_of_rise)",
        ["AT-301.low", "PT-301.low", "FT-201.rate_of_rise"],
        "Emergency flow on; hold altitude",
    ),
]  # fmt: skip


def _limit(
    limit_id: str,
    kind: str,
    priority: str,
    message: str,
    setpoint: float | None,
    **more: object,
) -> LimitInfo:
    """Describe a limit of another kind."""
    response = "See the sheet of this alarm in the handbook."
    return LimitInfo(
        limit_id, kind, priority, message, response, setpoint, {}, 0.0, 10.0, 10.0, False, [],
        **more,  # type: ignore[arg-type]
    )  # fmt: skip


#: More about some of the plain limits.
MORE: dict[str, dict[str, object]] = {
    "PT-301.low": {"suppressed_by": ["PT-401.low"], "group": "pressure loss"},
    "PT-401.low": {"group": "pressure loss", "realarm_s": 600.0},
    "LT-501.low": {"is_arming": True},
}

#: Tag -> limits of other kinds.
LIMITS: dict[str, tuple[LimitInfo, ...]] = {
    "PT-401": (
        _limit(
            "PT-401.rate_of_fall", "rate_of_fall", "high", "Cabin falls fast", 2.0,
            unit="kPa/min", group="pressure loss",
        ),
        _limit(
            "PT-401.time_to_limit", "time_to_limit", "medium", "Cabin low is near", 300.0,
            unit="s",
        ),
    ),
    "FT-201": (
        _limit(
            "FT-201.rate_of_rise", "rate_of_rise", "medium", "Make-up flow rises", 0.5,
            unit="g/min/min",
        ),
    ),
    "FT-202": (
        _limit(
            "FT-202.expected", "expected", "top", "Emergency flow has not come", 5.0,
            watched_in=["descent"],
        ),
    ),
    "SI-301": (
        _limit("SI-301.stuck", "stuck", "low", "Fan speed does not move", None),
    ),
    "WI-501": (
        _limit("WI-501.late", "late", "medium", "Separator stroke is late", None, unit=""),
        _limit(
            "WI-501.arming", "expected", "low", "Separator not filled in time", 100.0,
            watched_in=["climb"],
        ),
    ),
}  # fmt: skip

#: Combinations and abort criteria belong to no channel.
SYSTEM = [
    _limit(
        one.limit, "combination", "top", one.title, None, safe_state=one.safe_state,
    )
    for one in ABORTS
] + [
    _limit("UA-401.combination", "combination", "high", "Valve open and no flow", None),
]  # fmt: skip

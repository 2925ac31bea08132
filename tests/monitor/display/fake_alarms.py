"""The alarms that each scene of the synthetic stand begins with."""

from __future__ import annotations

import msgspec

from monitor.link.messages import AlarmState, ForcedState, LimitInfo, PhaseState, StandInfo
from monitor.samples import Quality
from tests.monitor.display import fake_stand
from tests.monitor.display.fake_stand import NS


def phase_of(scene: str, now_ns: int) -> PhaseState:
    """Give the phase and mode of a scene."""
    mode = "loop_only" if scene == "inhibited" else "normal"
    name, ago_s = ("climb", 3900) if scene == "inhibited" else ("hold", 1260)
    is_lapsed = scene == "inhibited"
    return PhaseState(name, now_ns - ago_s * NS, mode, now_ns - 700 * NS, is_lapsed)


def forced_of(scene: str, now_ns: int) -> list[ForcedState]:
    """Give the values that are forced by hand in a scene."""
    if scene != "inhibited":
        return []
    until_ns = now_ns + 1100 * NS
    why = "sensor is changed"
    return [ForcedState("PT-203", 6.9, now_ns - 700 * NS, until_ns, "M. Ito", "", why)]


def alarms_of(scene: str, stand: StandInfo, now_ns: int) -> list[AlarmState]:
    """Give every alarm of the stand as it stands in a scene."""
    phase = phase_of(scene, now_ns)
    limits = [limit for info in stand.channels for limit in info.limits]
    loud = _of_scene(scene, now_ns)
    return [_state(limit, phase, loud) for limit in [*limits, *stand.system_limits]]


def _state(
    limit: LimitInfo, phase: PhaseState, loud: dict[str, dict[str, object]]
) -> AlarmState:
    """Give the state of one alarm: what the phase makes of it, and what the scene says."""
    is_watched = not limit.watched_in or phase.name in limit.watched_in
    setpoint = limit.setpoint_in.get(phase.name, limit.setpoint) if is_watched else None
    quiet = phase.name in limit.suppressed_in or phase.mode in limit.suppressed_in
    made = AlarmState(limit.id, setpoint=setpoint, is_suppressed=quiet)
    made = msgspec.structs.replace(made, armed="armed" if limit.is_arming else "")
    return msgspec.structs.replace(made, **loud.get(limit.id, {}))


def _of_scene(scene: str, now_ns: int) -> dict[str, dict[str, object]]:
    """Give what differs from an alarm at rest, by id."""

    def raised(ago_s: float, **more: object) -> dict[str, object]:
        at = now_ns - int(ago_s * NS)
        known: dict[str, object] = {
            "is_active": True, "is_acknowledged": False, "is_annunciated": True,
            "onset_ns": at - 2 * NS, "true_ns": at, "annunciated_ns": at,
        }  # fmt: skip
        return known | more

    def behind(ago_s: float, cause: str, **more: object) -> dict[str, object]:
        known: dict[str, object] = {
            "is_suppressed": True,
            "is_annunciated": False,
            "cause": cause,
        }
        known["suppressed_since_ns"] = now_ns - 74 * NS
        return raised(ago_s, **(known | more))

    shelf = {
        "is_annunciated": False, "is_acknowledged": True, "is_shelved": True,
        "shelved_until_ns": now_ns + 1500 * NS,
        "shelf_reason": "shelved by K. Vale: trap is changed at the turn-round",
        "shelved_since_ns": now_ns - 300 * NS,
    }  # fmt: skip
    if scene == "alarm":
        return {
            "PT-401.low": raised(74, value=34.81, is_acknowledged=True, first_out="first"),
            "PT-301.low": behind(69, "PT-401.low", value=33.92),
            "PT-401.rate_of_fall": behind(66, "PT-401.low", value=3.4),
            "PT-401.time_to_limit": behind(60, "PT-301.low", value=212.0),
            "AT-301.low": raised(21, value=21.9, first_out="undetermined"),
            "UA-902.abort": raised(20),
            "TT-401.high": raised(812, value=28.3, is_active=False),
            "PDT-303.high": raised(3100, value=203, **shelf),
            "PT-301.high_high": raised(
                5200, value=48.2, is_active=False, is_latched=True, is_acknowledged=True
            ),
        }
    if scene == "inhibited":
        return {
            "PDT-303.high": raised(3100, value=203, **shelf),
            "AT-302.high": {
                "is_out_of_service": True,
                "service_reason": "out of service by M. Ito and K. Vale: cell is sent away",
                "out_since_ns": now_ns - 3400 * NS,
            },
            "PT-301.high": {"is_edited": True, "edits": {"setpoint": 45.5}, "setpoint": 45.5},
            "LT-501.low": {"armed": "asleep"},
            "PT-401.low": raised(74, value=34.81, is_acknowledged=True),
            "PT-301.low": behind(69, "PT-401.low", value=33.92),
            "PT-401.high": {"is_suppressed": True, "suppressed_since_ns": now_ns - 700 * NS},
        }
    if scene == "stale":
        current = int(Quality.CURRENT_FAULT)
        return {
            f"link:{fake_stand.DOWN}.high": raised(65),
            "TT-503.fault": raised(40, quality=current, is_acknowledged=True),
        }
    return {}

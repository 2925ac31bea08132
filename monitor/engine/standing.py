"""What stands at W, read from the pipeline in the words of the link."""

from __future__ import annotations

from monitor.engine.describe import is_told
from monitor.limits.edits import SETPOINT_IN, LimitNow
from monitor.limits.plan import Limit
from monitor.link.messages import AlarmState, ForcedState, PhaseState
from monitor.pipeline import Pipeline
from monitor.samples import Bytes, Floats, Ints

_S_PER_NS = 1e-9


class PipelineStanding:
    """Reads a pipeline for the board.

    Args:
        pipeline: The pipeline.
        columns: Column of each channel that people see.

    Attributes:
        pipeline: The one that is read; another one after a state was restored.
    """

    def __init__(self, pipeline: Pipeline, columns: Ints) -> None:
        """Read nothing yet."""
        self.pipeline = pipeline
        self._columns = columns

    def phase(self) -> PhaseState:
        """Give the phase and the mode, and since when."""
        alarms = self.pipeline.alarms
        return PhaseState(
            name=alarms.place.phase,
            since_ns=alarms.phase_since_ns,
            mode=alarms.place.mode,
            mode_since_ns=alarms.mode_since_ns if alarms.place.mode else 0,
            is_lapsed=alarms.has_lapsed,
        )

    def alarm(self, position: int) -> AlarmState:
        """Give where the alarm of that position stands, and what is in force for its limit."""
        status = self.pipeline.alarms.status[position]
        planned = self.pipeline.plan.limits[position]
        now = self.pipeline.limit_now(position)
        return AlarmState(
            id=status.id,
            is_active=status.is_active,
            is_acknowledged=status.is_acknowledged,
            is_latched=status.is_latched,
            is_suppressed=status.is_suppressed,
            is_shelved=status.is_shelved,
            is_out_of_service=status.is_out_of_service,
            is_annunciated=status.is_annunciated,
            onset_ns=status.onset_ns,
            true_ns=status.true_ns,
            annunciated_ns=status.annunciated_ns,
            shelved_until_ns=status.shelved_until_ns,
            value=status.value,
            quality=status.quality,
            setpoint=self._setpoint(now),
            cause=status.cause,
            first_out=status.first_out,
            armed=_armed(now),
            is_edited=now.is_edited,
            edits=_edits(planned, now.limit) if now.is_edited else {},
            suppressed_since_ns=status.suppressed_since_ns,
            shelved_since_ns=status.shelved_since_ns,
            shelf_reason=status.shelf_reason,
            out_since_ns=status.out_since_ns,
            service_reason=status.service_reason,
        )

    def _setpoint(self, now: LimitNow) -> float | None:
        """Give the setpoint in force; None where a limit has none, or is not watched now."""
        watched_in = now.limit.watched_in
        is_watched = not watched_in or self.pipeline.alarms.place.is_in(watched_in)
        return now.setpoint if is_watched and is_told(now.limit) else None

    def forced(self) -> list[ForcedState]:
        """Give the values that are forced by hand, in the order of their tags."""
        return [
            ForcedState(
                one.tag, one.value, one.since_ns, one.until_ns, one.by, one.second, one.reason
            )
            for one in self.pipeline.alarms.forced
        ]

    def newest(self) -> tuple[Ints, Floats, Bytes]:
        """Give time, value and quality of each channel's newest sample, in people's order."""
        channels, columns = self.pipeline.channels, self._columns
        return (
            channels.last_t_ns[columns],
            channels.last_value[columns],
            channels.last_quality[columns],
        )


def _armed(now: LimitNow) -> str:
    """Say whether a limit that waits until its value was inside the band is awake."""
    if not now.limit.is_arming:
        return ""
    return "asleep" if now.is_asleep else "armed"


def _edits(planned: Limit, limit: Limit) -> dict[str, float]:
    """Tell what differs from the plan, by the words of an edit."""
    before, after = _figures(planned), _figures(limit)
    return {key: value for key, value in after.items() if before.get(key) != value}


def _figures(limit: Limit) -> dict[str, float]:
    """Give what of a limit can be edited."""
    setpoints = {SETPOINT_IN + name: value for name, value in limit.setpoint_in.items()}
    return {
        "setpoint": limit.setpoint,
        **setpoints,
        "deadband": limit.deadband,
        "on_delay_s": limit.on_delay_ns * _S_PER_NS,
        "off_delay_s": limit.off_delay_ns * _S_PER_NS,
    }

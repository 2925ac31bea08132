"""What stands at W, read from the pipeline in the words of the link."""

from __future__ import annotations

from monitor.link.messages import AlarmState, PhaseState
from monitor.pipeline import Pipeline
from monitor.samples import Bytes, Floats, Ints


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
        """Give the phase and since when."""
        return PhaseState(self.pipeline.phase, self.pipeline.phase_since_ns)

    def alarm(self, position: int) -> AlarmState:
        """Give where the alarm of that position stands."""
        status = self.pipeline.alarms.status[position]
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
            inhibit_reason=status.inhibit_reason,
        )

    def newest(self) -> tuple[Ints, Floats, Bytes]:
        """Give time, value and quality of each channel's newest sample, in people's order."""
        channels, columns = self.pipeline.channels, self._columns
        return (
            channels.last_t_ns[columns],
            channels.last_value[columns],
            channels.last_quality[columns],
        )

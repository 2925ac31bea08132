"""All that happens between the link and the window: messages in, messages out, what is known.

Pure: the window hands in what came and what time it is, and sends what this gives back.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from monitor.display.state.acts import Acts, Outcome
from monitor.display.state.asks import Asks
from monitor.display.state.connection import Connection, Freshness, Stage, freshness
from monitor.display.state.lamp import Lamps, LampTest
from monitor.display.state.model import Model
from monitor.display.state.register import register_rows
from monitor.display.state.register_text import register_text
from monitor.display.state.severity import rank_of
from monitor.display.state.text import NS
from monitor.display.state.tone import ToneDecision
from monitor.link.messages import (
    Act,
    Acted,
    Beat,
    Change,
    Done,
    FromDisplay,
    FromEngine,
    Part,
    Ready,
    Snapshot,
)

#: How a lost engine sounds.
LOSS_PRIORITY = "high"


@dataclass(frozen=True, slots=True)
class Mail:
    """A message and when it came, in ns of the display's monotonic clock."""

    message: FromEngine
    mono_ns: int


class Desk:
    """What the display knows and what it still has to say.

    Attributes:
        model: The run; None until the first Snapshot.
        acts: What people asked for.
        tone: Which alarms were silenced.
        lamp: The lamp test.
        snapshots: How often everything was sent anew.
        unexpected: Messages that made no sense at their time.
    """

    def __init__(self, prefix: str) -> None:
        """Start with nothing known. *prefix* makes the ids of acts unique."""
        self.model: Model | None = None
        self.connection = Connection()
        self.acts = Acts(prefix)
        self.tone = ToneDecision()
        self.lamp = LampTest()
        self.snapshots = 0
        self.unexpected = 0
        self._asks: Asks | None = None
        self._is_loss_silenced = False
        self._out: list[FromDisplay] = []

    def take(
        self, mail: Sequence[Mail], connection: Connection, mono_ns: int
    ) -> list[FromDisplay]:
        """Take what came; give what to send."""
        self.connection = connection
        for letter in mail:
            self._take_one(letter)
        if connection.stage is not Stage.CONNECTED:
            self._asks = None
        self.acts.give_up_old(mono_ns)
        ask = self._asks.next() if self._asks is not None else None
        if ask is not None:
            self._out.append(ask)
        out, self._out = self._out, []
        return out

    def act(self, act: Act, mono_ns: int) -> None:
        """Do something in a person's name; silence is heard at once."""
        if act.verb == "silence" and self.model is not None:
            self.tone.silence(self.model.index.limits, self.model.alarms, None)
            self._is_loss_silenced = True
        is_connected = self.connection.stage is Stage.CONNECTED
        sent = self.acts.ask(act, mono_ns, is_connected=is_connected)
        if sent is not None:
            self._out.append(sent)

    def fresh(self, mono_ns: int) -> Freshness:
        """Tell whether what is known is the present. A run that was closed may end in peace."""
        fresh = freshness(self.connection, mono_ns)
        if fresh.is_frozen and self._is_closed():
            says = (
                "The watch has ended. This is how the run ended; a new run appears by itself."
            )
            return Freshness(True, fresh.age_ns, "RUN CLOSED", says)
        return fresh

    def _is_closed(self) -> bool:
        """Tell whether the run was closed in order."""
        return self.model is not None and self.model.recording.state == "closed"

    def now_ns(self, mono_ns: int) -> int:
        """Give the present data time; 0 without a run."""
        return self.model.clock.at(mono_ns) if self.model is not None else 0

    def shown_ns(self, mono_ns: int) -> int:
        """Give the data time that clocks show: it stands still while the engine is silent."""
        is_frozen = self.fresh(mono_ns).is_frozen
        return self.now_ns(self.connection.heard_ns if is_frozen else mono_ns)

    def edge_ns(self, mono_ns: int) -> int:
        """Give the right edge of live charts: the newest W, moving smoothly."""
        if self.model is None:
            return 0
        return self.shown_ns(mono_ns) - int(self.model.index.stand.lag_s * NS)

    def sounding(self, mono_ns: int) -> str:
        """Give the priority whose tone sounds now, empty for silence.

        Losing the engine in mid-run sounds, too; what sounded before does not fall silent.
        """
        if self.model is None:
            return ""
        heard = self.tone.sounding(self.model.index.limits, self.model.alarms)
        if not self.fresh(mono_ns).is_frozen:
            self._is_loss_silenced = False
            return heard
        if self._is_closed():
            return ""
        if self._is_loss_silenced:
            return heard
        return min(heard or LOSS_PRIORITY, LOSS_PRIORITY, key=rank_of)

    def lamps(self, mono_ns: int) -> Lamps | None:
        """Give what the lamp test shows now; None while there is none."""
        return self.lamp.at(mono_ns, self.sounding(mono_ns))

    def register_text(self, mono_ns: int) -> str:
        """Write down what is inhibited, and say so at the foot; empty without a run."""
        if self.model is None:
            return ""
        now_ns = self.shown_ns(mono_ns)
        rows = register_rows(self.model, now_ns)
        self.acts.outcome = Outcome("The register is on the clipboard, as text.")
        return register_text(self.model, rows, now_ns)

    def _take_one(self, letter: Mail) -> None:
        """Take one message."""
        message, model = letter.message, self.model
        if isinstance(message, Snapshot):
            self._start(message, letter.mono_ns)
        elif isinstance(message, Acted):
            self.acts.answered(message)
        elif model is None:
            self.unexpected += 1
        elif isinstance(message, Change):
            self._change(model, message, letter.mono_ns)
        elif isinstance(message, Beat):
            model.heard(message.now_ns, letter.mono_ns)
        elif isinstance(message, Part):
            model.take_part(message)
        elif isinstance(message, Done) and self._asks is not None:
            self._asks.done(message.id)

    def _start(self, snapshot: Snapshot, mono_ns: int) -> None:
        """Start anew from a Snapshot; say again what was not answered."""
        self.snapshots += 1
        model = Model(snapshot, mono_ns)
        self.model = model
        self._asks = Asks(len(model.values), snapshot.started_ns, snapshot.until_ns)
        self.tone.heed(snapshot.events, model.index.limits, model.alarms)
        self._out += [Ready(snapshot.seq), *self.acts.to_repeat(mono_ns)]

    def _change(self, model: Model, change: Change, mono_ns: int) -> None:
        """Take what is new and say so."""
        model.apply(change, mono_ns)
        self.tone.heed(change.events, model.index.limits, model.alarms)
        self.acts.heed(change.events)
        self._out.append(Ready(change.seq))

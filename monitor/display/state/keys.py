"""Every key of the display, in one place: shortcuts, labels, tooltips and the list on F1."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Key:
    """One thing a key does.

    Attributes:
        name: For code.
        keys: As Qt spells it, for example ``Shift+F8``.
        label: Short, for a button.
        does: A sentence, for the tooltip and the list of keys.
        group: Heading in the list of keys.
    """

    name: str
    keys: str
    label: str
    does: str
    group: str

    @property
    def with_key(self) -> str:
        """Give the label of a button with its key."""
        return f"{self.label}  {self.keys}"


_LOOK = "Look at"
_ALARM = "Alarms"
_RUN = "Run"
_CHART = "Charts"

KEYS: tuple[Key, ...] = (
    Key("help", "F1", "Keys", "Show this list of keys.", _LOOK),
    Key("channels", "F2", "Channels", "Go to the channel table.", _LOOK),
    Key("charts", "F3", "Charts", "Show the strip charts.", _LOOK),
    Key("alarms", "F4", "Alarms", "Go to the alarm list.", _LOOK),
    Key("events", "F5", "Events", "Show what happened, newest first.", _LOOK),
    Key("register", "Ctrl+I", "Inhibited", "Show everything that is inhibited now.", _LOOK),
    Key("aborts", "Ctrl+B", "Abort", "Show the abort criteria and how each stands.", _LOOK),
    Key("health", "F6", "Links", "Show links, counters and everything dropped.", _LOOK),
    Key("full_screen", "F11", "Full screen", "Fill the screen, or return.", _LOOK),
    Key(
        "acknowledge",
        "F8",
        "Acknowledge",
        "Acknowledge the selected alarms; again: go to the next.",
        _ALARM,
    ),
    Key(
        "acknowledge_page",
        "Shift+F8",
        "Page",
        "Acknowledge every alarm that can be seen in the list.",
        _ALARM,
    ),
    Key(
        "acknowledge_all",
        "Ctrl+F8",
        "All",
        "Acknowledge all alarms, those further down the list included.",
        _ALARM,
    ),
    Key(
        "unfold",
        "Ctrl+U",
        "Unfold",
        "Show or fold what is quiet behind the selected alarm.",
        _ALARM,
    ),
    Key("silence", "F9", "Silence", "Stop the tone; a new alarm sounds again.", _ALARM),
    Key("reset", "F12", "Reset", "Reset the selected alarms that await it.", _ALARM),
    Key(
        "shelve",
        "Ctrl+H",
        "Shelve",
        "Shelve the selected alarm or limit, or take it back.",
        _ALARM,
    ),
    Key(
        "out_of_service",
        "Ctrl+O",
        "Out of service",
        "Take the selected alarm or limit out of service, or return it.",
        _ALARM,
    ),
    Key("edit", "Ctrl+E", "Edit limit", "Change a limit for the rest of this run.", _ALARM),
    Key(
        "force",
        "Ctrl+F",
        "Force value",
        "Set the selected channel's value by hand for a time, or let it go.",
        _ALARM,
    ),
    Key(
        "copy_register",
        "Ctrl+Shift+C",
        "Copy as text",
        "Copy the register of what is inhibited, to print or to send.",
        _ALARM,
    ),
    Key(
        "lamp_test", "Ctrl+L", "Lamp test", "Show every mark, colour and tone for 3 s.", _ALARM
    ),
    Key("phase", "F7", "Phase", "List the phases, and enter one.", _RUN),
    Key("mode", "Ctrl+M", "Mode", "List the modes, and enter one.", _RUN),
    Key("note", "F10", "Note", "Write a note into the journal.", _RUN),
    Key("person", "Ctrl+N", "Person", "Say who is acting.", _RUN),
    Key("quit", "Ctrl+Q", "Close", "Close this window; the watch goes on.", _RUN),
    Key("shorter", "Ctrl+Up", "Shorter", "Show a shorter time span.", _CHART),
    Key("longer", "Ctrl+Down", "Longer", "Show a longer time span.", _CHART),
    Key("back", "Ctrl+Left", "Back", "Look back by half a span.", _CHART),
    Key("forward", "Ctrl+Right", "Forward", "Look forward by half a span.", _CHART),
    Key("pause", "Ctrl+P", "Pause", "Stop the charts, or go on with the present.", _CHART),
    Key(
        "close_up",
        "Ctrl+R",
        "Close-up",
        "Fit the value axes to the lines, or show the limits, too.",
        _CHART,
    ),
)

KEY: dict[str, Key] = {key.name: key for key in KEYS}

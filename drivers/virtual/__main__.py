"""``python -m drivers.virtual``: the virtual rig on real wires, for the demo and for trials."""

from __future__ import annotations

import argparse
import asyncio
import os
import signal
import sys
from collections.abc import Sequence
from dataclasses import replace
from threading import Thread

from drivers.virtual.broker import NoBrokerError
from drivers.virtual.play import Settings, play, say_json
from drivers.virtual.scenario import load_scenario, scenario_names

#: Fastest speed that is allowed at all.
_FASTEST = 500.0
_SPEED_HELP = (
    "seconds of rig time in a second (default 1); meant up to 20: what a wire or a busy "
    "machine delays counts so many times as long"
)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run until standard input ends or a signal comes. Exit code 0; 1 without a broker."""
    options = _parser().parse_args(arguments)
    scenario = load_scenario(options.scenario)
    if options.until is not None:
        scenario = replace(scenario, end_s=options.until)
    settings = Settings(scenario, options.speed, options.seed)
    try:
        asyncio.run(_run(settings))
    except NoBrokerError as error:
        print(error, file=sys.stderr)
        return 1
    except BrokenPipeError:
        # Whoever listened is gone: nobody is left to tell.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return 0


def _parser() -> argparse.ArgumentParser:
    """Describe the options."""
    parser = argparse.ArgumentParser(
        prog="python -m drivers.virtual",
        description="Virtual rig on pseudo-terminals and an MQTT broker. Says where they are "
        "as a line of JSON, begins its script at a line 'go' on standard input, ends when "
        "that ends.",
    )
    parser.add_argument("--speed", type=_speed, default=1.0, help=_SPEED_HELP)
    parser.add_argument("--seed", type=int, default=1, help="of the sensors' noise")
    parser.add_argument("--scenario", choices=scenario_names(), default="gondola")
    parser.add_argument("--until", type=float, help="end the script at this rig time, in s")
    return parser


def _speed(text: str) -> float:
    """Read a speed."""
    speed = float(text)
    if not 0.0 < speed <= _FASTEST:
        raise argparse.ArgumentTypeError(f"must be above 0 and at most {_FASTEST:g}")
    return speed


async def _run(settings: Settings) -> None:
    """Play, listening to standard input and to signals."""
    go, end = asyncio.Event(), asyncio.Event()
    loop = asyncio.get_running_loop()
    for number in (signal.SIGINT, signal.SIGTERM):
        loop.add_signal_handler(number, end.set)
    Thread(target=_listen, args=(loop, go, end), name="standard input", daemon=True).start()
    await play(settings, go, end, say_json)


def _listen(loop: asyncio.AbstractEventLoop, go: asyncio.Event, end: asyncio.Event) -> None:
    """Wait for 'go' and for the end of standard input, in a thread of its own.

    Reads the descriptor itself: a buffered reader held by a daemon thread aborts the
    interpreter when it ends.
    """
    text = b""
    while data := os.read(0, 1024):
        text = (text + data)[-1024:]
        if b"go" in text.split():
            loop.call_soon_threadsafe(go.set)
    if not loop.is_closed():
        loop.call_soon_threadsafe(end.set)


if __name__ == "__main__":
    sys.exit(main())

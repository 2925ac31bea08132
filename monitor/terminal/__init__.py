"""The screen of a headless watch: a live table, or plain lines where there is no terminal."""

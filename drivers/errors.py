"""The errors that drivers raise.

* :class:`DriverError`
    * :class:`PortLostError` -- the link is gone or would not open; trying again may help
    * :class:`RefusedError` -- the other end understood and said no; a person must act
    * :class:`SettingsError` -- the instrument's settings make no sense; do not start
"""


class DriverError(Exception):
    """Root of everything that ``drivers`` raises on purpose."""


class PortLostError(DriverError):
    """The link is gone, or would not open.

    Attributes:
        why: What happened, for a person to read.
        cure: What that person can do about it.
    """

    def __init__(self, why: str, cure: str = "") -> None:
        """Keep both halves apart: the link's row shows them in two places."""
        super().__init__(why if not cure else f"{why}; {cure}")
        self.why = why
        self.cure = cure


class RefusedError(PortLostError):
    """The other end said no (login, permission). Retried slowly: only a person can cure it."""


class SettingsError(DriverError):
    """The settings of an instrument make no sense together.

    Attributes:
        key: The setting to change.
        problem: What is wrong with it.
    """

    def __init__(self, key: str, problem: str) -> None:
        """Name the setting first: that is what a person looks for in the file."""
        super().__init__(f"{key}: {problem}")
        self.key = key
        self.problem = problem

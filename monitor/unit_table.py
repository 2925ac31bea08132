"""The units that a stand file may use, with their definitions and spellings."""

from __future__ import annotations

from functools import lru_cache

#: One row each: as shown | definition in units above it | other accepted spellings.
#:
#: Source: SI brochure, 9th edition, tables 2, 4, 7 and 8; NIST SP 811 (2008), appendix B.8 for
#: inch, pound, psi, torr and the conventional columns of mercury and water. The tests compare
#: every factor with pint's own list. An angle has a dimension of its own here, so that nobody
#: is given 1 Hz for 9.5 rpm.
_TABLE = """
m       | [length]
s       | [time]                        | sec
kg      | [mass]
A       | [current]
K       | [temperature]; offset: 0
mol     | [substance]
%       | 0.01
ppm     | 1e-6
ppb     | 1e-9
count   | []                            | counts
deg     | [angle]                       | °
rad     | 180/3.14159265358979323846264338327950288 * deg
rev     | 360 * deg
°C      | K; offset: 273.15             | degC ℃
°F      | 5/9 * K; offset: 45967/180    | degF ℉
mK      | 1e-3 * K
km      | 1e3 * m
cm      | 1e-2 * m
mm      | 1e-3 * m
µm      | 1e-6 * m                      | um μm
in      | 0.0254 * m                    | inch
ft      | 0.3048 * m
L       | 1e-3 * m ** 3                 | l
mL      | 1e-6 * m ** 3                 | ml
min     | 60 * s
h       | 3600 * s                      | hr
d       | 86400 * s
ms      | 1e-3 * s
µs      | 1e-6 * s                      | us μs
t       | 1e3 * kg
g       | 1e-3 * kg
mg      | 1e-6 * kg
µg      | 1e-9 * kg                     | ug μg
lb      | 0.45359237 * kg
mmol    | 1e-3 * mol
kmol    | 1e3 * mol
Hz      | 1 / s
kHz     | 1e3 / s
rpm     | rev / min
N       | kg * m / s ** 2
kN      | 1e3 * N
lbf     | 4.4482216152605 * N
J       | N * m
kJ      | 1e3 * J
MJ      | 1e6 * J
Wh      | 3600 * J
kWh     | 3.6e6 * J
W       | J / s
mW      | 1e-3 * W
kW      | 1e3 * W
MW      | 1e6 * W
Pa      | N / m ** 2
hPa     | 1e2 * Pa
kPa     | 1e3 * Pa
MPa     | 1e6 * Pa
bar     | 1e5 * Pa
mbar    | 1e2 * Pa
µbar    | 0.1 * Pa                      | ubar μbar
atm     | 101325 * Pa
Torr    | 101325/760 * Pa               | torr
mmHg    | 13.5951 * 9.80665 * Pa
inHg    | 13595.1 * 9.80665 * 0.0254 * Pa
mmH2O   | 9.80665 * Pa
cmH2O   | 98.0665 * Pa
inH2O   | 9806.65 * 0.0254 * Pa
psi     | lbf / in ** 2
V       | W / A
mV      | 1e-3 * V
µV      | 1e-6 * V                      | uV μV
kV      | 1e3 * V
mA      | 1e-3 * A
µA      | 1e-6 * A                      | uA μA
Ω       | V / A                         | ohm Ohm \u2126
kΩ      | 1e3 * Ω                       | kohm k\u2126
MΩ      | 1e6 * Ω                       | Mohm M\u2126
S       | A / V
mS      | 1e-3 * S
µS      | 1e-6 * S                      | uS μS
T       | V * s / m ** 2
mT      | 1e-3 * T
"""

#: What people write out of habit, and what to write instead.
HABITS = {
    "C": "degC",
    "celsius": "degC",
    "f": "degF",
    "fahrenheit": "degF",
    "percent": "%",
    "pct": "%",
    "lpm": "L/min",
    "cc": "mL",
    "barg": "bar (say in the title that it is gauge)",
    "bara": "bar (say in the title that it is absolute)",
    "psig": "psi (say in the title that it is gauge)",
    "psia": "psi (say in the title that it is absolute)",
    "mbara": "mbar (say in the title that it is absolute)",
    "sccm": "mL/min (say in the title at which conditions)",
    "slpm": "L/min (say in the title at which conditions)",
    "nl": "L (say in the title at which conditions)",
}


@lru_cache(maxsize=1)
def rows() -> tuple[tuple[str, str, tuple[str, ...]], ...]:
    """Split the table into (as shown, definition, other spellings)."""
    found = []
    for line in _TABLE.strip().splitlines():
        shown, definition, *others = (cell.strip() for cell in line.split("|"))
        found.append((shown, definition, tuple(" ".join(others).split())))
    return tuple(found)


@lru_cache(maxsize=1)
def spellings() -> dict[str, str]:
    """Map every accepted spelling to the one that is shown."""
    found = {shown: shown for shown, _, _ in rows()}
    found.update({other: shown for shown, _, others in rows() for other in others})
    return found

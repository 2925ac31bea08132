"""Bands of a 4-20 mA loop after NAMUR NE 43 (2003), in mA.

Source: NAMUR NE 43 by secondary texts for the failure bands (they disagree on "<" or "<=" at
the edges: both edges count as failure here); the bands between are from memory.
"""

#: At or below this the transmitter reports a failure.
FAILURE_LOW_MA = 3.6
#: Below this, down to the failure band, the transmitter is saturated.
SATURATED_LOW_MA = 3.8
#: Above this, up to the failure band, the transmitter is saturated.
SATURATED_HIGH_MA = 20.5
#: At or above this the transmitter reports a failure.
FAILURE_HIGH_MA = 21.0

"""What the model does not know: said in the README and on every page, word for word."""

from __future__ import annotations

LIMITS = (
    "Without headland laps passes run to the boundary, and all that is planted beyond a pass end counts as "
    "off-field. With laps (`headland_laps`, 1 to 6) the curve over the offset is read to a few "
    "ten-thousandths of the error, to about a hundredth where the controller has an update rate; what is "
    "reported as best, recommended or alternative is a full simulation either way.",
    "The machine runs on rails: ranks follow the pass line exactly. A drawn machine that still swings after "
    "the turn, side hills and bends are not in it.",
    "Latencies are constant for each rank. What valves, meters and falling seed scatter from end to end is "
    "not drawn; nor is seed spacing: a row is a strip that is planted or not.",
    "Speed is one figure at starts and one at stops.",
    "Digs are taken to lie on ends square to the passes, and latencies to be one figure for all ranks; "
    "estimated latencies hold position delay and half an update period.",
    "It knows what is written in the scenario. A tape that was read wrong, or a latency that was assumed, "
    "comes back as a wrong number with many digits: dig, and compare with what digging should show.",
    "It was checked against closed forms, against slow and independent ways of computing the same thing, and "
    "against published figures of geometry; not yet against measured row ends of a real planter.",
)
"""Sentences; names of keys stand between backquotes."""

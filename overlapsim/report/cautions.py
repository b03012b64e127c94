"""What everybody must know who works at a planter: said before the first step."""

DIG_CAUTIONS = (
    "Stop the machine, engine off, key out. Lower it to the ground, or lock or block it up mechanically.",
    "Hydraulic circuits and air systems keep pressure with the engine off: open nothing, loosen nothing.",
    "Nobody goes between or under row units of a raised machine. Everybody is clear before it starts again.",
    "Treated seed: chemical-resistant gloves as the tag says; cover or clean up what is spilt.",
    "The operator's manual and local rules come first.",
)
"""Before digging (29 CFR 1928.57(a)(6); Iowa FACE 95IA041 and 99IA011; seed tags)."""

CHANGE_CAUTIONS = (
    "Before the first step: machine stopped, engine off, key out, brakes on, everybody clear; what is raised "
    "is lowered, locked or blocked. Nobody goes under row units that hang on oil alone.",
    "Springs under load, and oil and air that stay under pressure with the engine off: open nothing, loosen "
    "nothing, before the manual says that it is let out.",
    "Treated seed: gloves as the tag says; spilt seed is covered or cleaned up.",
    "The operator's manual, local rules and licensed practice come before this sheet.",
)
"""Before a changeover (29 CFR 1928.57(a)(6); Iowa FACE 95IA041 and 99IA011; seed tags)."""

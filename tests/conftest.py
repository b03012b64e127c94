"""What the whole suite shares: the two Hypothesis profiles.

``ci`` (chosen when the environment variable CI is set): new examples every time, no deadline, and the blob
with which a failure is replayed is printed. ``local``: the same examples every time, so that a red test
stays red until it is mended.
"""

from __future__ import annotations

import os

from hypothesis import HealthCheck, settings

settings.register_profile("ci", deadline=None, print_blob=True, suppress_health_check=[HealthCheck.too_slow])
settings.register_profile(
    "local", deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("ci" if os.environ.get("CI") else "local")

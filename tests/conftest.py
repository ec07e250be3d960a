"""Settings of every test run: property tests are judged by their answers, never by the clock.

The gate draws the same examples each time, so a few of them say as much as many; here they are drawn anew each time.
"""

import os

from hypothesis import HealthCheck, settings

settings.register_profile("here", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.register_profile("gate", settings.get_profile("here"), derandomize=True, max_examples=25)
settings.load_profile("gate" if os.environ.get("CI") else "here")

"""How tests start the demo as a process of its own."""

import os


def demo_environment():
    """Return the environment: nothing is compiled behind, the demo is gone before that is done."""
    return {**os.environ, "PYTHONUNBUFFERED": "1", "NUMBA_DISABLE_JIT": "1"}

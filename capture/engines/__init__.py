"""Speech engines behind one protocol; :func:`open_engine` is the door."""

from capture.engines.engine import Engine
from capture.engines.opening import ENGINES, open_engine

__all__ = ["ENGINES", "Engine", "open_engine"]

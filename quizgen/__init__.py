"""Problem sets on electrical fault-finding, computed from circuits and proved."""

__version__ = "0.1.0"

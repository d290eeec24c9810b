"""Trip-aware preventive maintenance for a four-wheel-drive and its trailer."""

__version__ = "0.1.0"

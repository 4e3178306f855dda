"""Where the house stands on the disk."""

from pathlib import Path

ROOT = Path(__file__).parents[2]

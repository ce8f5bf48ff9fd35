"""The measures of a bar by which passages are compared, each with its unit and fixed range."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from collaparte.kernels.arrays import Reals


@dataclass(frozen=True)
class BarMeasure:
    """A column of `textures`; differences count in parts of the range from `low` to `high`."""

    column: str
    unit: str
    low: float
    high: float
    by_ratio: bool = False
    """Differences are those of logarithms: twice as many counts the same everywhere."""

    def scaled(self, values: Reals) -> Reals:
        """The values as parts of the range, 0 to 1; what lies beyond is brought to its ends."""
        inside = np.clip(values, self.low, self.high)
        if self.by_ratio:
            return np.asarray(np.log(inside / self.low) / np.log(self.high / self.low))
        return (inside - self.low) / (self.high - self.low)

    def unscaled(self, parts: Reals) -> Reals:
        """The values of parts of the range, in the unit of the measure."""
        if self.by_ratio:
            return np.asarray(self.low * (self.high / self.low) ** parts)
        return self.low + parts * (self.high - self.low)


MEASURES = (
    BarMeasure("concentration", "share", 0, 1),
    BarMeasure("one_pitch_class", "share", 0, 1),
    BarMeasure("lines", "share", 0, 1),
    BarMeasure("sustained", "share", 0, 1),
    BarMeasure("repeated", "share", 0, 1),
    BarMeasure("figured", "share", 0, 1),
    BarMeasure("onsets_per_quarter", "onsets a quarter", 0.25, 8, by_ratio=True),
    BarMeasure("pitches", "pitches", 1, 32, by_ratio=True),
    BarMeasure("spread_semitones", "semitones", 0, 72),
    BarMeasure("lowest", "MIDI", 24, 96),
    BarMeasure("highest", "MIDI", 36, 108),
    BarMeasure("weight", "share", 0, 1),
    BarMeasure("woodwind_share", "share", 0, 1),
    BarMeasure("brass_share", "share", 0, 1),
    BarMeasure("string_share", "share", 0, 1),
    BarMeasure("voice_share", "share", 0, 1),
)
"""The six measures of texture, pace, fullness, spread, height, weight and colour."""

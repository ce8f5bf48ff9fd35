"""Top of the low register of winds, in sounding MIDI numbers; a test compares with the data."""

LOW_TOP = {
    "piccolo": 79,
    "flute": 67,
    "alto-flute": 62,
    "oboe": 67,
    "english-horn": 60,
    "clarinet-eflat": 63,
    "clarinet-bflat": 58,
    "clarinet-a": 57,
    "bass-clarinet": 46,
    "bassoon": 48,
    "contrabassoon": 36,
    "horn-f": 52,
    "horn": 52,
    "trumpet-bflat": 57,
}

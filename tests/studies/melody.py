"""One line composed against those that are there: the cheapest way through its possible notes.

Counterpoint is a matter of costs. A rule of voice leading (no parallel fifths and octaves, the
leading note rises, the seventh falls) costs so much that it is broken only where nothing else
is possible; a test of the finished scores finds that it never is.
"""

from __future__ import annotations

import hashlib
import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from studies.harmony import Chord
from studies.pitches import Pitch, between

QUARTER = 12
FORBIDDEN = 1_000_000
UNRESOLVED = 10_000


class NoWayError(ValueError):
    """Every line breaks a rule of voice leading."""


@dataclass(frozen=True)
class Note:
    """One sounding note; time in twelfths of a quarter."""

    onset: int
    length: int
    pitch: Pitch

    @property
    def end(self) -> int:
        """Where it ends."""
        return self.onset + self.length


Line = list[Note]


@dataclass(frozen=True)
class Slot:
    """A place for one note: its time, the chords that sound in it, what is wanted of it."""

    onset: int
    length: int
    chords: tuple[Chord, ...]
    strong: bool
    target: int
    opens: bool
    """A chord begins here."""
    turn: int = 0
    """In a figure: so many notes of the chord up or down from the note before; 0: free."""


@dataclass(frozen=True)
class Manner:
    """What kind of line: weights of what it likes and dislikes."""

    ornaments: bool = False
    """Passing notes and neighbours are allowed off the beat."""
    bass: bool = False
    """Has the chord's bass note where a chord begins."""
    completes: bool = False
    """Looks after the notes that the chord still lacks."""
    repeat: int = 2
    leap: int = 1
    pull: int = 1
    """Weight of the height that is wanted."""
    ends_on_root: bool = False
    pedal: bool = False
    """Stays on the tonic, whatever the chord."""
    companion: int = 0
    """Diatonic steps to a line that goes along (-2: a third below)."""


@dataclass(frozen=True)
class State:
    """A possible note: approached and left by step (+1, -1) where it is foreign to the chord."""

    pitch: Pitch
    come: int = 0
    leave: int = 0
    second: Pitch | None = None


@dataclass
class Surroundings:
    """The lines that are there already, and which of them stay above and below."""

    lines: Sequence[Line]
    above: Sequence[Line] = ()
    below: Sequence[Line] = ()
    boundaries: dict[int, list[tuple[Pitch, Pitch]]] = field(init=False)

    def __post_init__(self) -> None:
        """Notes the moments at which a line goes from one note to the next."""
        self.boundaries = {}
        for line in self.lines:
            for now, then in itertools.pairwise(line):
                if then.onset - now.end <= QUARTER and now.pitch.midi != then.pitch.midi:
                    self.boundaries.setdefault(then.onset, []).append((now.pitch, then.pitch))

    def sounding(self, lines: Sequence[Line], time: int) -> list[Pitch]:
        """What sounds at a time."""
        return [note.pitch for line in lines for note in line if note.onset <= time < note.end]


def along(pitch: Pitch, steps: int, chord: Chord) -> Pitch:
    """The note of the chord's scale so many diatonic steps away."""
    wanted = pitch.degree + steps
    near = between(chord.scale, pitch.midi - 24, pitch.midi + 24)
    return next(other for other in near if other.degree == wanted)


def compose(
    slots: Sequence[Slot],
    low: int,
    high: int,
    manner: Manner,
    around: Surroundings,
    seed: str,
    attempt: int,
) -> Line:
    """The cheapest line through the slots, between two MIDI numbers.

    Small differences of cost hang on `seed`; they grow with `attempt`.

    Raises
    ------
    NoWayError
        Every line breaks a rule.
    """
    costs: list[dict[State, int]] = []
    ways: list[dict[State, State | None]] = []
    for number, slot in enumerate(slots):
        states = _states(slot, low, high, manner)
        last = number == len(slots) - 1
        local = _local(slot, manner, around, last, f"{seed} {attempt}", 3 + 5 * attempt)
        here: dict[State, int] = {}
        way: dict[State, State | None] = {}
        if number == 0:
            here = {state: local(state) for state in states if not state.come}
            way = dict.fromkeys(here)
        else:
            step = _step(slots[number - 1], slot, manner, around, low, high)
            before = costs[-1]
            for state in states:
                best, source = min(
                    ((cost + step(last, state), last) for last, cost in before.items()),
                    key=lambda item: (item[0], item[1].pitch, item[1].come, item[1].leave),
                )
                here[state], way[state] = best + local(state), source
        costs.append(here)
        ways.append(way)
    best_last = min(
        (state for state in costs[-1] if not state.leave),
        key=lambda item: (costs[-1][item], item.pitch),
    )
    if costs[-1][best_last] >= UNRESOLVED:
        raise NoWayError(f"every line breaks a rule: {costs[-1][best_last]}")
    found: Line = []
    at: State | None = best_last
    for slot, way in zip(reversed(slots), reversed(ways), strict=True):
        assert at is not None
        found.append(Note(slot.onset, slot.length, at.pitch))
        at = way[at]
    return found[::-1]


def _states(slot: Slot, low: int, high: int, manner: Manner) -> list[State]:
    members = set(slot.chords[0].members)
    for other in slot.chords[1:]:
        members &= set(other.members)
    chord = slot.chords[0]
    if manner.bass and slot.opens:
        members = {chord.bass}
    if manner.pedal:
        members = {chord.key.tonic}
    if manner.companion:
        members = {
            member
            for member in members
            if along(Pitch(60 + member * 7 % 12, member), manner.companion, chord).fifth
            in chord.members
        } or members
    found = [State(pitch) for pitch in between(members, low, high)]
    if manner.ornaments and not slot.strong and not slot.opens:
        foreign = chord.scale - set(chord.members)
        found += [
            State(pitch, come, leave)
            for pitch in between(foreign, low, high)
            for come in (1, -1)
            for leave in (1, -1)
        ]
    if manner.companion:
        found = [
            State(state.pitch, state.come, state.leave, along(state.pitch, manner.companion, chord))
            for state in found
        ]
    if not found:
        raise ValueError(f"no note of {chord.name} between {low} and {high}")
    return found


def _local(
    slot: Slot, manner: Manner, around: Surroundings, last: bool, seed: str, play: int
) -> Callable[[State], int]:
    """The cost of a note by itself and among those that sound with it."""
    chord = slot.chords[0]
    others = around.sounding(around.lines, slot.onset)
    above = min((pitch.midi for pitch in around.sounding(around.above, slot.onset)), default=999)
    below = max((pitch.midi for pitch in around.sounding(around.below, slot.onset)), default=0)
    classes = {pitch.midi % 12 for pitch in others}
    member_class = [member * 7 % 12 for member in chord.members]

    def cost(state: State) -> int:
        midi, fifth = state.pitch.midi, state.pitch.fifth
        total = manner.pull * abs(midi - slot.target) + _noise(seed, slot.onset, midi) % play
        total += 300 * max(0, midi - above) + 300 * max(0, below - midi)
        total += 12 * sum(pitch.midi == midi for pitch in others)
        if not state.come:
            if fifth == chord.leading and any(pitch.fifth == fifth for pitch in others):
                total += 400
            if fifth == chord.seventh and any(pitch.fifth == fifth for pitch in others):
                total += 120
            if manner.completes:
                missing = {
                    place
                    for place, its_class in enumerate(member_class)
                    if its_class not in classes and its_class != midi % 12
                }
                total += sum((40, 50, 20, 30)[place] for place in missing)
        else:
            total += 15 * sum(abs(pitch.midi - midi) in (1, 13) for pitch in others) + 2
        if last and manner.ends_on_root and fifth != chord.members[0]:
            total += 60
        return total

    return cost


def _step(
    before: Slot, slot: Slot, manner: Manner, around: Surroundings, low: int, high: int
) -> Callable[[State, State], int]:
    """The cost of going from a note to the next."""
    joined = slot.onset - before.onset - before.length <= QUARTER
    boundaries = around.boundaries.get(slot.onset, []) if joined else []
    changes = before.chords[-1] != slot.chords[0]
    tones = between(set(slot.chords[0].members), low, high) if slot.turn else []
    place = {pitch: number for number, pitch in enumerate(tones)}

    def cost(last: State, state: State) -> int:
        p, q = last.pitch, state.pitch
        move = q.midi - p.midi
        if last.leave and not _by_step(move, last.leave):
            return FORBIDDEN
        if state.come and not _by_step(move, state.come):
            return FORBIDDEN
        if slot.turn:
            turns = p in place and q in place and place[q] - place[p] == slot.turn
            total = 0 if turns else 60
        else:
            total = manner.repeat if move == 0 else manner.leap * _leap(abs(move))
            fifths = abs(q.fifth - p.fifth)
            total += 80 if fifths > 7 else 12 if fifths in (6, 7) else 0
        if joined and changes and move:
            total += unresolved(p, q, before.chords[-1], slot.chords[0])
        for r, s in boundaries:
            if parallel(p, q, r, s):
                return FORBIDDEN
            if last.second and state.second and parallel(last.second, state.second, r, s):
                return FORBIDDEN
        return total

    return cost


def _by_step(move: int, direction: int) -> bool:
    return 1 <= move * direction <= 2


def _leap(size: int) -> int:
    """How little a melodic interval is liked, by semitones."""
    return (0, 0, 0, 3, 4, 6, 16, 8, 14, 16, 40, 60, 18)[size] if size <= 12 else 90


def parallel(p: Pitch, q: Pitch, r: Pitch, s: Pitch) -> bool:
    """Both lines move, from a fifth to a fifth or from an octave to an octave (or unison)."""
    if p.midi == q.midi or r.midi == s.midi:
        return False
    first, second = p.midi - r.midi, q.midi - s.midi
    if first < 0 or (first == 0 and second < 0):
        first, second = -first, -second
    return second >= 0 and first % 12 == second % 12 and first % 12 in (0, 7)


def unresolved(p: Pitch, q: Pitch, before: Chord, after: Chord) -> int:
    """The cost of a leading note that does not rise or a seventh that does not fall."""
    if p.fifth == before.leading and before.leads_to in after.members:
        return 0 if q.midi == p.midi + 1 else UNRESOLVED
    if p.fifth == before.seventh:
        below = {member for member in after.members if (member - p.fifth) % 7 == 5}
        if below:
            return 0 if -2 <= q.midi - p.midi <= -1 else UNRESOLVED
    return 0


def _noise(seed: str, onset: int, midi: int) -> int:
    return hashlib.sha256(f"{seed} {onset} {midi}".encode()).digest()[0]

"""Chords that double chords: parts and groups as sequences of attacks.

A unit is a part, or a group: lines of one subfamily of instruments, or the lines of the chorus,
that stand in two parts or more. Its attacks are the onsets of its notes; an attack is a chord
when it strikes at least three pitches of at least two pitch classes. At a matched attack of two
units both strike chords and each pitch class of the one is among the other's, in whatever
octave and voice. A stretch runs over the attacks of the unit that is contained; the other may
strike more often and add notes, which are listed.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from collaparte.kernels.arrays import Flags, Ints
from collaparte.kernels.joins import matching_pairs, positions_within
from collaparte.kernels.runs import bridged_runs, count_within, distinct_within
from collaparte.measures.doublings.matches import Matches, unbroken
from collaparte.measures.doublings.melody import UNSPELLED, Melody
from collaparte.measures.doublings.ranks import one_story
from collaparte.measures.doublings.stretches import CHANGING, Runs, Stretches, sums
from collaparte.measures.kinds import CHORDAL
from collaparte.schema import TICKS
from collaparte.settings import Settings

_PITCH_CLASSES = 12
_PITCHES_OF_A_CHORD = 3


@dataclass(frozen=True)
class Units:
    """The notes of all units, sorted by unit, attack and pitch, and their attacks.

    `attacks` has one row an attack, `line` being the unit and `note` and `first` not used;
    notes of attack i stand at `begin[i]` to `begin[i] + count[i]`. `members` says which lines
    are in which unit, shape (units, lines).
    """

    members: Flags
    top_line: Ints
    note: Ints
    pitch: Ints
    onset: Ints
    end: Ints
    is_group: Flags
    """Which units are groups, shape (units,)."""
    attacks: Melody
    begin: Ints
    count: Ints
    classes: Ints
    """Set of pitch classes of each attack, one bit each."""
    is_chord: Flags


def _units(sounds: Melody, lines: pa.Table) -> Units:
    """All parts and groups as units; `sounds` holds every note, not only the top ones."""
    members, is_group = _members(lines)
    if sounds.faced:
        members, is_group = np.kron(np.eye(2, dtype=np.bool_), members), np.tile(is_group, 2)
    unit, line = np.nonzero(members)
    # Every note once for each unit that its line is in.
    position, which = matching_pairs(sounds.line, line)
    unit = unit[which]
    order = np.lexsort((sounds.pitch[position], sounds.place[position], unit))
    unit, position = unit[order], position[order]
    spot = unit * sounds.places + sounds.place[position]
    begin = np.flatnonzero(np.diff(spot, prepend=-1))
    pitch, end = sounds.pitch[position], sounds.end[position]
    count = np.diff(np.append(begin, len(spot)))
    classes = np.bitwise_or.reduceat(np.left_shift(1, pitch // 100 % _PITCH_CLASSES), begin)
    number = np.repeat(np.arange(len(begin)), count)
    pitches = distinct_within(number, pitch, len(begin))
    last = np.maximum.reduceat(end, begin)
    width = int(last.max()) + 1
    attacks = Melody(
        line=unit[begin],
        onset=sounds.onset[position[begin]],
        end=last,
        until=np.maximum.accumulate(unit[begin] * width + last) - unit[begin] * width,
        pitch=pitch[begin + count - 1],
        degree=np.full(len(begin), UNSPELLED),
        note=begin,
        first=begin,
        place=sounds.place[position[begin]],
        lines=len(members),
        places=sounds.places,
        faced=sounds.faced,
    )
    return Units(
        members=members,
        is_group=is_group,
        top_line=np.argmax(members, axis=1),
        note=sounds.note[position],
        pitch=pitch,
        onset=sounds.onset[position],
        end=end,
        attacks=attacks,
        begin=begin,
        count=count,
        classes=classes,
        is_chord=(pitches >= _PITCHES_OF_A_CHORD) & (np.bitwise_count(classes) >= 2),
    )


def _members(lines: pa.Table) -> tuple[Flags, Flags]:
    """Which lines are in which unit, and which units are groups."""
    part = lines["part_index"].to_numpy()
    chorus = pc.equal(lines["ensemble"].cast(pa.string()), "chorus")
    kind = pc.if_else(chorus, "chorus", lines["subfamily"].cast(pa.string()))
    names = kind.combine_chunks().dictionary_encode().indices.fill_null(-1).to_numpy()
    named = [names == name for name in np.unique(names[names >= 0])]
    groups = [group for group in named if len(np.unique(part[group])) > 1]
    rows = groups + [part == index for index in np.unique(part)]
    is_group = np.arange(len(rows)) < len(groups)
    return np.array(rows, np.bool_).reshape(len(rows), len(lines)), is_group


def chordal(sounds: Melody, lines: pa.Table, settings: Settings) -> list[Stretches]:
    """`chordal`: parts and groups whose chords are contained in those of others."""
    units = _units(sounds, lines)
    matches = _contained(units)
    if not len(matches):
        return []
    runs = _runs(units, matches, settings)
    chords = distinct_within(runs.number, units.classes[runs.matches.a], len(runs.matched))
    thresholds = settings.chordal
    passes = (runs.matched >= thresholds.matched) & (chords >= thresholds.changes)
    runs, chords = runs.keep(passes), chords[passes]
    distinct = runs.distinct()
    strict = (
        (runs.matched >= thresholds.strict_matched)
        & (chords >= thresholds.strict_changes)
        & (distinct >= thresholds.strict_pitches)
    )
    told = _told(units, runs, distinct, strict)
    # Parts tell before groups do, and the upper line's unit before the lower one's.
    first = runs.first()
    inner, outer = (units.attacks.line[side[first]] for side in (runs.matches.a, runs.matches.b))
    rank = 2 * (units.is_group[inner] | units.is_group[outer])
    rank += units.top_line[inner] > units.top_line[outer]
    stays = one_story(replace(told, kind=rank), sounds.lines, settings.covered_percent)
    return [told.take(np.flatnonzero(stays))]


def _contained(units: Units) -> Matches:
    """Attacks at which the chord of one unit (`a`) is contained in that of another (`b`)."""
    one, other = _chords_together(units)
    inside = units.classes[one] & ~units.classes[other] == 0
    matches = Matches(units.attacks, one[inside], other[inside])
    order = np.lexsort((units.attacks.place[matches.a], matches.pair))
    return matches.take(order)


def _chords_together(units: Units) -> tuple[Ints, Ints]:
    """Chords that two units without a common line strike at one time, told from both sides."""
    chords = np.flatnonzero(units.is_chord)
    attacks = units.attacks
    shared = units.members.astype(np.int64) @ units.members.T.astype(np.int64)
    if not attacks.faced:
        one, other = (
            chords[side] for side in matching_pairs(attacks.place[chords], attacks.place[chords])
        )
        apart = shared[attacks.line[one], attacks.line[other]] == 0
        return one[apart], other[apart]
    own = chords[: np.searchsorted(attacks.line[chords], attacks.own_lines)]
    copied = chords[len(own) :]
    upper, lower = matching_pairs(attacks.place[own], attacks.place[copied])
    upper, lower = own[upper], copied[lower]
    unit, copy = attacks.line[upper], attacks.line[lower] - attacks.own_lines
    apart = (shared[unit, copy] == 0) & (units.top_line[unit] < units.top_line[copy])
    upper, lower = upper[apart], lower[apart]
    return np.concatenate([upper, lower]), np.concatenate([lower, upper])


def _runs(units: Units, matches: Matches, settings: Settings) -> Runs:
    """Runs over the attacks of the contained unit, single attacks bridged."""
    silence = settings.joint_silence_quarters * TICKS
    attacks, a = units.attacks, matches.a
    between = matches.steps()
    direct = unbroken(matches, between.same_pair & (between.a == 1), silence)
    bridge = between.same_pair & (between.a == 2)
    at = np.flatnonzero(bridge)
    pause = np.maximum(
        attacks.onset[a[at] + 1] - attacks.until[a[at]],
        attacks.onset[a[at + 1]] - attacks.until[a[at] + 1],
    )
    bridge[at[pause > silence]] = False
    number = bridged_runs(direct, bridge, settings.matched_share)
    matched = np.bincount(number)
    chord_changes = np.diff(units.classes[a]) != 0
    return Runs(matches, number, matched, count_within(number, chord_changes, len(matched)))


def _told(units: Units, runs: Runs, distinct: Ints, strict: Flags) -> Stretches:
    match, inner, outer = _nearest(units, runs)
    stretch = runs.number[match]
    onset = units.onset[inner]
    end = np.minimum(units.end[inner], units.end[outer])
    first = np.searchsorted(stretch, np.arange(len(distinct)))
    top_a = units.top_line[units.attacks.line[runs.matches.a[runs.first()]]]
    top_b = units.top_line[units.attacks.line[runs.matches.b[runs.first()]]]
    turned = top_a > top_b
    note_a = np.where(turned[stretch], outer, inner)
    note_b = np.where(turned[stretch], inner, outer)
    length = units.end - units.onset
    added_to, added = _added(units, runs)
    return Stretches(
        kind=np.full(len(distinct), CHORDAL, np.int64),
        line_a=np.minimum(top_a, top_b),
        line_b=np.maximum(top_a, top_b),
        interval=np.full(len(distinct), CHANGING),
        start=units.attacks.onset[runs.matches.a[runs.first()]],
        end=np.maximum.reduceat(end, first) if len(first) else first,
        matched=runs.matched,
        changes=runs.changes,
        distinct=distinct,
        strict=strict,
        own_a=sums(length[note_a], first),
        own_b=sums(length[note_b], first),
        stretch=stretch,
        note_a=units.note[note_a],
        note_b=units.note[note_b],
        pair_start=onset,
        pair_end=end,
        added_to=added_to,
        added=added,
    )


def _nearest(units: Units, runs: Runs) -> tuple[Ints, Ints, Ints]:
    """For each note of a contained chord the nearest note of its class in the other chord.

    Returns
    -------
    The match, and the positions of both notes in the units; of two as near, the lower.
    """
    match_in, inner = _notes(units, runs.matches.a)
    match_out, outer = _notes(units, runs.matches.b)
    one, other = matching_pairs(
        match_in * _PITCH_CLASSES + units.pitch[inner] // 100 % _PITCH_CLASSES,
        match_out * _PITCH_CLASSES + units.pitch[outer] // 100 % _PITCH_CLASSES,
    )
    distance = np.abs(units.pitch[inner[one]] - units.pitch[outer[other]])
    order = np.lexsort((other, distance, one))
    best = order[np.append(True, np.diff(one[order]) != 0)[: len(order)]]
    return match_in[one[best]], inner[one[best]], outer[other[best]]


def _notes(units: Units, attacks: Ints) -> tuple[Ints, Ints]:
    """The notes of each attack: number of the attack in `attacks`, position in the units."""
    counts = units.count[attacks]
    number = np.repeat(np.arange(len(attacks)), counts)
    return number, np.repeat(units.begin[attacks], counts) + positions_within(counts)


def _added(units: Units, runs: Runs) -> tuple[Ints, Ints]:
    """Rows of the notes of the containing chords outside the classes of the contained ones."""
    match, outer = _notes(units, runs.matches.b)
    bit = np.left_shift(1, units.pitch[outer] // 100 % _PITCH_CLASSES)
    outside = units.classes[runs.matches.a[match]] & bit == 0
    return runs.number[match[outside]], units.note[outer[outside]]

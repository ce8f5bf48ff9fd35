"""What is known about each part: the file's list of parts, its instruments, its ensemble."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from collaparte.movement import Movement
from collaparte.readers.instruments import (
    Context,
    Evidence,
    Identified,
    Identity,
    context_of,
    identify,
)
from collaparte.readers.musicxml.header import PartHeader
from collaparte.reference import Reference
from collaparte.remarks import Remark


@dataclass(frozen=True)
class PartFacts:
    """One part: `transposition` is None where the file states none."""

    header: PartHeader
    identities: tuple[Identity, ...]
    transposition: int | None
    by_instrument_id: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """Name for people, whatever the file gives."""
        return " ".join((self.header.name or self.header.part_id or "part").split())

    @property
    def ensemble_element(self) -> str | None:
        """What the file's own `ensemble` or `solo` element says."""
        return next((item.ensemble for item in self.header.instruments if item.ensemble), None)

    @property
    def sound_id(self) -> str | None:
        """Sound id of the first instrument."""
        return self.header.instruments[0].sound_id if self.header.instruments else None

    @property
    def program(self) -> int | None:
        """MIDI program of the first instrument, from 1."""
        return self.header.instruments[0].program if self.header.instruments else None

    def identity_of(self, instrument_id: str) -> int:
        """Identity that an instrument of the file stands for; -1 where it decides nothing."""
        if instrument_id in self.by_instrument_id:
            return self.by_instrument_id.index(instrument_id)
        return -1


def parts_of(
    headers: Sequence[PartHeader],
    transpositions: Sequence[int | None],
    percussion: Sequence[bool],
    used_ids: frozenset[str],
    movement: Movement,
    reference: Reference,
) -> tuple[tuple[PartFacts, ...], list[Remark]]:
    """The facts of every part, and what is odd about its instruments.

    Parameters
    ----------
    transpositions
        Semitones at the start of each part, None where the file states none.
    percussion
        True for parts on a percussion clef or channel.
    used_ids
        Ids of `score-instrument` that single notes name: a part with several of them has one
        identity for each.
    """
    context = context_of([header.name or "" for header in headers], reference)
    parts: list[PartFacts] = []
    remarks: list[Remark] = []
    for index, header in enumerate(headers):
        named = [item for item in header.instruments if item.instrument_id in used_ids]
        correction = _correction(header, index, movement)
        several = len(named) > 1 and correction is None
        found = (
            [
                identify(
                    Evidence(
                        name=item.name or "",
                        transposition=transpositions[index],
                        sound_id=item.sound_id,
                        midi_program=item.program,
                        percussion=percussion[index],
                    ),
                    reference,
                    context,
                )
                for item in named
            ]
            if several
            else [
                _identified(
                    header, index, transpositions, percussion, correction, context, reference
                )
            ]
        )
        identities = tuple(item.identities[0] for item in found) if several else found[0].identities
        parts.append(
            PartFacts(
                header,
                identities,
                transpositions[index],
                tuple(item.instrument_id for item in named) if several else (),
            )
        )
        findings = dict.fromkeys(finding for item in found for finding in item.findings)
        remarks.extend(finding.remark(part_index=index) for finding in findings)
    return tuple(parts), remarks


def _identified(
    header: PartHeader,
    index: int,
    transpositions: Sequence[int | None],
    percussion: Sequence[bool],
    correction: str | None,
    context: Context,
    reference: Reference,
) -> Identified:
    first = header.instruments[0] if header.instruments else None
    return identify(
        Evidence(
            name=header.name or "",
            abbreviation=header.abbreviation or "",
            instrument_name=(first.name if first else None) or "",
            transposition=transpositions[index],
            sound_id=first.sound_id if first else None,
            midi_program=first.program if first else None,
            percussion=percussion[index],
            correction=correction,
        ),
        reference,
        context,
    )


def _correction(header: PartHeader, index: int, movement: Movement) -> str | None:
    names = (header.part_id, header.name, str(index))
    return next((stated.instrument for stated in movement.parts if stated.part in names), None)

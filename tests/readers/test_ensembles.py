"""Chorus, solo voice, section, player: the order of evidence, and the guess."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from collaparte import reference
from collaparte.readers.ensembles import Seat, ensembles_of, voice_key
from collaparte.readers.instruments import Evidence, context_of, identify

FACTS = reference.load()
SATB = ["Soprano", "Alto", "Tenor", "Bass"]


def together(lines, share=1.0):
    """Every line sounds 100 ticks, each pair together for a share of them."""
    matrix = np.full((lines, lines), int(100 * share))
    np.fill_diagonal(matrix, 100)
    return matrix


def seats(names, brackets=(), **more):
    context = context_of(names, FACTS)
    found = []
    for name in names:
        identity = identify(Evidence(name=name), FACTS, context).identities[0]
        found.append(
            Seat(
                identity.instrument,
                identity.family,
                identity.label,
                identity.ensemble,
                brackets=tuple(brackets),
                **more,
            )
        )
    return found


def decided(names, share=1.0, voices=None, matrix=None, **more):
    found, findings = ensembles_of(
        seats(names, **more),
        together(len(names), share) if matrix is None else np.array(matrix),
        FACTS,
        voices=voices,
    )
    return [(item.ensemble, item.basis, item.confidence) for item in found], findings


CHORUS_GUESS = ("chorus", "guess", "guess")
SOLO_GUESS = ("solo_voice", "guess", "guess")


@pytest.mark.parametrize(
    "names",
    [
        ["Soprano", "Alto", "Bass"],
        SATB,
        ["Soprano 1", "Soprano 2", "Alto", "Tenor", "Bass"],
        ["Soprano I", "Soprano II", "Alto I", "Alto II", "Tenor", "Bass"],
        [f"{name} {number}" for name in SATB for number in (1, 2)],
    ],
    ids=len,
)
def test_three_to_eight_voices_that_sing_together_are_a_guessed_chorus(names):
    found, findings = decided(names)
    assert found == [CHORUS_GUESS] * len(names)
    assert [finding.code for finding in findings] == ["chorus_guessed"]
    assert names[0] in findings[0].message
    assert names[-1] in findings[0].message


def test_two_choirs_that_alternate_are_choruses():
    matrix = np.zeros((8, 8), int)
    matrix[:4, :4] = matrix[4:, 4:] = 90
    matrix[:4, 4:] = matrix[4:, :4] = 10
    np.fill_diagonal(matrix, 100)
    found, _ = decided(SATB * 2, matrix=matrix)
    assert found == [CHORUS_GUESS] * 8


def test_a_duet_is_no_chorus():
    assert decided(["Soprano", "Alto"]) == ([SOLO_GUESS] * 2, ())


def test_soloists_who_take_turns_are_no_chorus():
    assert decided(SATB, share=0.5) == ([SOLO_GUESS] * 4, ())
    assert decided(SATB, share=0.51)[0] == [CHORUS_GUESS] * 4


def test_a_soloist_beside_the_chorus_stays_alone():
    matrix = together(5, 0.8)
    matrix[0, 1:] = matrix[1:, 0] = 20
    found, findings = decided(["Soprano", *SATB], matrix=matrix)
    assert found == [SOLO_GUESS, *[CHORUS_GUESS] * 4]
    assert findings[0].message.startswith("Soprano, Alto, Tenor and Bass sing together")


def test_names_come_before_the_guess():
    names = ["Soprano Solo", "Coro Soprano", "Chor Alt", "Chœur: Ténor", "Choir Bass"]
    found, findings = decided(names)
    assert found == [("solo_voice", "name", "certain"), *[("chorus", "name", "certain")] * 4]
    assert findings == ()


@pytest.mark.parametrize("name", ["Chorus", "Coro", "Chor", "Chœur", "Choir", "Kinderchor"])
def test_a_whole_chorus_on_one_staff(name):
    assert decided([name])[0] == [("chorus", "name", "certain")]


def test_brackets_come_before_the_guess():
    assert (
        decided(["Soprano", "Alto"], brackets=["Voices", "Coro"])[0]
        == [("chorus", "bracket", "likely")] * 2
    )
    assert decided(SATB, brackets=["Soli"])[0] == [("solo_voice", "bracket", "likely")] * 4
    assert decided(SATB, brackets=["Soli e Coro"])[0] == [CHORUS_GUESS] * 4


def test_the_file_comes_before_the_name():
    found, _ = decided(["Soprano Solo"], element="ensemble")
    assert found == [("chorus", "file", "certain")]
    assert decided(SATB, element="solo")[0] == [("solo_voice", "file", "certain")] * 4


# Example ensemble-element of the MusicXML reference: the violas of an orchestra.
def test_the_elements_of_strings_count_and_those_of_winds_do_not():
    assert decided(["Viola."], element="ensemble")[0] == [("section", "file", "certain")]
    assert decided(["Violin"], element="solo")[0] == [("player", "file", "certain")]
    assert decided(["Flute"], element="ensemble")[0] == [("player", "instrument", "likely")]


def test_the_manifest_comes_first():
    assert (
        decided(["Soprano", "Alto"], voices="chorus", element="solo")[0]
        == [("chorus", "manifest", "certain")] * 2
    )
    assert decided(SATB, voices="solo")[0] == [("solo_voice", "manifest", "certain")] * 4
    assert decided(["Soprano"], voices="chorus", statement="solo_voice")[0] == [
        ("solo_voice", "manifest", "certain")
    ]
    assert decided(["Flute"], voices="chorus")[0] == [("player", "instrument", "likely")]


def test_strings_of_an_orchestra_and_of_a_quartet():
    orchestra = ["Flute 1", "Violin 1", "Violin 2", "Viola", "Violoncello", "Contrabass"]
    assert decided(orchestra)[0] == [
        ("player", "instrument", "likely"),
        *[("section", "instrument", "likely")] * 5,
    ]
    quartet = ["Violin I", "Violin II", "Viola", "Cello"]
    assert decided(quartet)[0] == [("player", "instrument", "guess")] * 4
    assert decided(["Violin", "Piano"])[0][0] == ("player", "instrument", "guess")


def test_solo_strings_of_an_orchestra():
    names = ["Principal Violin", "Violin solo", "2 solo Vc", "Violin 1", "Flute"]
    found, _ = decided(names)
    assert [item[0] for item in found] == ["player", "player", "player", "section", "player"]
    assert found[0] == ("player", "name", "certain")


def test_players_of_sections_are_unknown():
    found, _ = ensembles_of(seats(["Viola", "Flute", *SATB]), together(6), FACTS)
    assert [item.players for item in found] == [None, 1, None, None, None, None]


def test_keys_of_voices_follow_the_ensemble():
    found, _ = ensembles_of(seats(SATB), together(4), FACTS)
    assert [item.instrument for item in found] == [
        "voice-soprano-choir",
        "voice-alto-choir",
        "voice-tenor-choir",
        "voice-bass-choir",
    ]
    found, _ = ensembles_of(seats(SATB), together(4), FACTS, voices="solo")
    assert [item.instrument for item in found] == [
        "voice-soprano-solo",
        "voice-contralto-solo",
        "voice-tenor-solo",
        "voice-bass-solo",
    ]
    assert voice_key("voice-mezzo-solo", "chorus", FACTS) == "voice-mezzo-solo"
    assert voice_key("voice-tenor-solo", "chorus", FACTS) == "voice-tenor-choir"
    assert voice_key("horn", "chorus", FACTS) == "horn"
    assert voice_key(None, "chorus", FACTS) is None


def test_a_voice_of_unknown_kind_is_still_a_voice():
    assert decided(["Voice", "Piano"])[0][0] == SOLO_GUESS


def test_movements_labelled_by_hand():
    """All distinct parts of 22 movements as one score; its voices sing together."""
    with (Path(__file__).parent / "part_names.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    names = [row["name"].replace("\\n", "\n") for row in rows]
    found, _ = decided(names)
    assert [item[0] for item in found] == [row["ensemble"] for row in rows]


def test_no_lines():
    assert ensembles_of([], np.zeros((0, 0), int), FACTS) == ((), ())

"""The words of real scores: at least 95% by occurrence are understood or none of our business."""

from __future__ import annotations

import coverage_of_words


def test_words_of_real_scores_are_understood(scores):
    result = coverage_of_words.coverage(scores)
    for line in coverage_of_words.report(result, everything=False):
        print(line)
    assert result.ours
    assert result.share(result.left) <= 0.05
    assert result.share(result.left, words_only=True) <= 0.05


def test_directions_are_read_in_order_with_symbols_and_dynamics(tmp_path):
    (tmp_path / "score.musicxml").write_text(
        """<score-partwise><part-list><score-part id="P1"><part-name>Horn in F</part-name>
        </score-part></part-list><part id="P1"><measure number="1">
        <direction><direction-type><words>in B</words><symbol>accidentalFlat</symbol>
        </direction-type></direction>
        <direction><direction-type><dynamics><other-dynamics>più </other-dynamics><f/></dynamics>
        </direction-type></direction>
        <direction><direction-type><words>dolce</words></direction-type></direction>
        <direction><direction-type><words>unheard of</words></direction-type></direction>
        </measure></part></score-partwise>""",
        encoding="utf-8",
    )
    result = coverage_of_words.coverage(tmp_path)
    assert {text.text for text in result.ours} == {"in B♭", "più f"}
    assert {text.text for text in result.not_ours} == {"dolce"}
    assert {text.text for text in result.left} == {"unheard of"}
    assert {text.family for text in result.ours} == {"brass"}
    assert result.share(result.left) == 0.25

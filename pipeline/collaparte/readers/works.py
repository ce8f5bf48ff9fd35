"""The work that a movement belongs to, where its file says so and nobody else does."""

from __future__ import annotations

from dataclasses import dataclass

from collaparte.movement import Movement, short_name


@dataclass(frozen=True)
class WorkNames:
    """What a file says about a work and the movement of it that it holds."""

    number: str | None
    title: str | None
    movement_number: str | None
    movement_title: str | None


def work_of(movement: Movement, composer: str | None, names: WorkNames) -> dict[str, str]:
    """`work_id` and `work`: as stated, else as the file says, else the movement is its own work.

    A file is believed when it names both a work and a movement of it; files of one composer with
    the same number and title are then of one work.
    """
    work = [name for name in (names.title, names.number) if name]
    named = bool(names.movement_number or names.movement_title)
    work_id = ".".join(filter(None, map(short_name, [composer or "", *reversed(work)])))
    if movement.work_stated or not named or not work or not work_id:
        return {"work_id": movement.work_id, "work": movement.work}
    return {"work_id": work_id, "work": ", ".join(work)}

"""Many ``session.toml`` files read quickly: what a route's sessions have in common is parsed once.

A session begins with what is its own (id, time, job, crew) and goes on with snapshots of instrument,
criteria, reasons, cautions and route, which along one route are the same to the byte for years. Where the
snapshots were met before, only the beginning is parsed. The answer is that of ``parse_session``.
"""

from __future__ import annotations

from dataclasses import replace

from fieldtui.core.plan.session import Crew, Session, measured_at
from fieldtui.errors import BadInputError
from fieldtui.files.session.file import OwnModel, parse_session
from fieldtui.files.toml.fields import Empty
from fieldtui.files.toml.schema import Findings, read_as
from fieldtui.files.toml.text import parse_toml

_CUT = b"\n[instrument]\n"  # where a session's own part ends, as this program writes it


class HeadModel(OwnModel):
    """The part of session.toml that is the session's own."""

    cautions: Empty | None = None  # [] stands here, others below


class SnapshotReader:
    """Reads one session after the other; keeps one parsed session for each snapshot it met."""

    def __init__(self) -> None:
        self._known: dict[tuple[bool, bytes], Session] = {}

    def parse(self, data: bytes, file: str) -> Session:
        """The session in ``data``; ``file`` is the name used in problems.

        Raises:
            BadInputError: with every problem of the file.
        """
        cut = data.find(_CUT)
        head = _parse_head(data[: cut + 1]) if cut >= 0 else None
        if head is None:
            return parse_session(data, file)
        snapshots = (head.cautions is None, data[cut:])
        known = self._known.get(snapshots)
        if known is None:
            known = self._known[snapshots] = parse_session(data, file)
            return known
        return replace(
            known,
            id=head.id,
            program=head.program,
            started=head.started,
            job=head.job,
            crew=Crew(head.crew.prober, head.crew.recorder),
            route=known.route.at_temperature(measured_at(head.conductor_c, head.ambient_c)),
            first_link=head.chain,
            ambient_c=head.ambient_c,
            conductor_c=head.conductor_c,
            transcribed_from=head.transcribed_from,
            practice=head.practice,
            follows=head.follows,
        )


def _parse_head(data: bytes) -> HeadModel | None:
    """The beginning, or None where it is not one: the cut may have fallen into a text of several lines."""
    try:
        text = parse_toml(data, "")
    except BadInputError:
        return None
    return read_as(HeadModel, text.data, Findings(text))

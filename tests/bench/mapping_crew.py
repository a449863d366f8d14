"""A simulated survey through the public desk: what is probed, called out, keyed and put right.

The recorder answers by fixed rules. A doubtful value is asked for again and confirmed where it was so. At
the drift page an asking recorder has the prober say where she really was, tries what the page can be brought
to, and takes what puts every reading right; where nothing does, she strikes the wrong ones out. A trusting
one takes the first remedy that is offered.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from fieldtui.core.measurement.ohms import Resistance
from fieldtui.core.survey.position import State
from fieldtui.core.survey.survey import Survey
from fieldtui.desk.entry import NUMBER_MISHEARD, DoubtKind, Entry
from fieldtui.desk.opening import resume_session
from fieldtui.errors import BadInputError, MemoryFullError, WrongUseError
from fieldtui.ui.pages.drift_points import PointChoice, Remedy, offered
from tests.bench.mapping_audit import Keyed, audit, audit_resumed
from tests.bench.mapping_meter import AtTheMeter
from tests.bench.mapping_world import STANDARD, Truth, misheard
from tests.bench.mapping_world import Entry as Filed

_MOST_STEPS = 900


@dataclass(slots=True)
class SimulatedCrew(AtTheMeter):
    """The crew on its walk; ``offset`` is how many points the prober is ahead of the record."""

    is_asking: bool = True
    offset: int = 0
    mirrored: str = ""  # the section that the prober walks from its far end

    # --- where the probes are -------------------------------------------------------------

    @property
    def is_called_by_name(self) -> bool:
        """Off the plain walk the recorder names each point, and the prober goes there."""
        position = self.survey.position
        return bool(position.back) or position.second_pass

    def in_step(self) -> None:
        self.offset, self.mirrored = 0, ""

    def probed(self, here: str) -> str:
        """Where the probes really are while the record stands at ``here``."""
        order = self.survey.order
        if self.mirrored and self.survey.points[here].section != self.mirrored:
            self.mirrored = ""
        if self.mirrored:
            part = self._section(here)
            return order.ids[part.start + part.stop - 1 - order.place[here]]
        place = order.place[here] + self.offset
        if self.is_called_by_name or place not in range(len(order.ids)):
            self.offset, place = 0, order.place[here]
        return order.ids[place]

    def _section(self, here: str) -> range:
        points = self.survey.points
        return self.survey.order.section_around(here, lambda point: points[point].section)

    def _slip_on_the_walk(self, here: str) -> None:
        if self.is_called_by_name:
            return
        survey, part = self.survey, self._section(here)
        is_fresh = all(survey.standings[survey.order.ids[at]].state is State.OPEN for at in part)
        if is_fresh and len(part) > 3 and not (self.offset or self.mirrored) and self.happens("far_end"):
            self.mirrored = survey.points[here].section
        if self.mirrored:
            return
        if self.offset and self.happens("stretch_ends"):
            self.offset = 0
        self.offset += self.happens("ahead")
        if survey.order.place[here] + self.offset > 0:
            self.offset -= self.happens("behind")

    # --- readings -------------------------------------------------------------------------

    def reading(self) -> None:
        """The prober reads a point, or another one; the recorder keys what he hears."""
        if self.filling is not None and self.filling.is_full:
            self.next_run("memory full, read out and reconciled")
        here = self.survey.position.here
        if here is None:
            return
        self._slip_on_the_walk(here)
        point = self.probed(here)
        self._slip_of_the_memory(point)
        shown = self.world.read(point)
        filling, entry = self.filling, None
        if filling is not None and not self.happens("not_stored"):
            entry = filling.file(shown)
            if entry is not None and self.happens("stored_twice"):
                filling.file(shown)
        if self.happens("missed_call"):
            self.offset += not self.mirrored
            return
        called = misheard(shown, self.chance) if self.happens("misheard") else shown
        self._key(Truth(point, shown, filling if entry is not None else None, entry), called)

    def _slip_of_the_memory(self, point: str) -> None:
        filling = self.filling
        if filling is None:
            return
        if len(filling.entries) > 4 and self.happens("cleared"):
            filling.was, filling.entries, filling.next = filling.entries, [], filling.meter.first_number
        if self.happens("unannounced"):
            filling.file(self.world.read(point))
        if filling.meter.spoiled_number_stays_used and self.happens("spoiled"):
            filling.file(None)

    def _key(self, truth: Truth, called: Resistance) -> None:
        """Key a value until it is recorded: each doubt is asked about once."""
        entry = truth.entry
        number = self.said_number(entry.number) if entry is not None and self.chance.random() < 0.12 else None
        for _ in range(9):
            try:
                weighed = self.desk.weigh(f"{'' if number is None else f'{number} '}{called.digits}m")
            except MemoryFullError:
                self.tally["full by the record alone"] += 1
                self.next_run("memory full, read out and reconciled")
                number = None
                continue
            except BadInputError:  # a number that this meter does not have
                number = None
                continue
            kinds = {doubt.kind for doubt in weighed.doubts}
            self.tally["doubts"] += bool(kinds)
            true = entry.number if entry is not None else None
            if DoubtKind.NUMBER in kinds and true not in (number, self.survey.next_number):
                number = true
            elif kinds - {DoubtKind.NUMBER} and called != truth.shown:
                called = truth.shown
                self.tally["misheard value caught at once"] += 1
            else:
                is_misheard = DoubtKind.NUMBER in kinds and true == self.survey.next_number
                self._record(weighed, truth, NUMBER_MISHEARD if is_misheard else "read back" if kinds else "")
                return
        self.defects.append(f"no way to record {called} at {self.survey.position.here}")

    def _record(self, weighed: Entry, truth: Truth, reason: str) -> None:
        record = self.desk.record(weighed, reason)
        self.want(record.record == len(self.truth) + 1, "a record number is left out or used again")
        self.want(record.reading == weighed.reading, f"record {record.record} is not what was keyed")
        self.truth[record.record] = truth
        self.keyed[record.record] = Keyed.of(record)
        self.tally["readings"] += 1
        self.tally["readings keyed at another point"] += record.point != truth.point
        self.watch_drift(is_resumed=False)

    # --- the drift page -------------------------------------------------------------------

    def misplaced(self, survey: Survey) -> set[int]:
        """Valid readings that the record has at another point than the probes were at."""
        return {
            number
            for number, record in survey.records.items()
            if record.is_valid and number in self.truth and record.point != self.truth[number].point
        }

    def watch_drift(self, *, is_resumed: bool) -> None:
        """What the walk does after a reading and on taking up again: the page is asked, and answered."""
        lookout = self.desk.lookout
        now = lookout.watch.alarms if lookout.watch.alarm is not None else ()
        alarms = lookout.standing if is_resumed else now
        if not alarms:
            return
        self.tally["alarms"] += 1
        alarm = alarms[-1]
        earlier = alarms[-2] if alarm.shift == 0 and len(alarms) > 1 else None
        offers = list(offered(alarm, earlier))
        wrong = self.misplaced(self.survey)
        if not wrong and not self.offset and not self.mirrored:
            self.tally["alarms for nothing"] += 1
            self.desk.in_step()
        elif not self.is_asking:
            self._take(offers[0], wrong)
        elif (best := self._best(offers, wrong)) is not None:
            self._take(best, wrong)
            self.want(not self.misplaced(self.survey), "what the page showed is not what was done")
        else:
            self._strike_out(wrong)
        self.in_step()

    def _best(self, offers: Sequence[PointChoice], wrong: set[int]) -> PointChoice | None:
        """What the page can be brought to that leaves no reading misplaced."""
        place, records = self.survey.order.place, self.survey.records
        apart = {place[self.truth[number].point] - place[records[number].point] for number in wrong}
        for offer in offers if wrong else ():
            if offer.remedy is Remedy.IN_STEP:
                continue
            for first in range(max(1, min(wrong) - 3), max(wrong) + 1):
                for by in (0,) if offer.remedy is Remedy.MIRROR else sorted(apart):
                    choice = replace(offer, first=first, by=by)
                    if not self._leaves_misplaced(choice):
                        return choice
        return None

    def _leaves_misplaced(self, choice: PointChoice) -> bool:
        try:
            if choice.remedy is Remedy.MIRROR:
                return bool(self.misplaced(self.desk.try_mirror(choice.first)))
            return bool(self.misplaced(self.desk.try_shift(choice.first, choice.by, choice.last)))
        except WrongUseError:
            return True

    def _take(self, choice: PointChoice, wrong: set[int]) -> None:
        try:
            if choice.remedy is Remedy.IN_STEP:
                self.desk.in_step()
            elif choice.remedy is Remedy.MIRROR:
                self.desk.mirror_section(choice.first, "the values fit there")
            else:
                self.desk.shift_points(choice.first, choice.by, "the values fit there", last=choice.last)
        except WrongUseError:
            self.tally["remedies that cannot be taken"] += 1
            self._strike_out(wrong)
            return
        left = self.misplaced(self.survey)
        self.tally["remedies taken"] += 1
        self.tally["put right by a remedy"] += len(wrong - left)
        self.tally["right ones moved away"] += len(left - wrong)

    def _strike_out(self, wrong: set[int]) -> None:
        for number in sorted(wrong):
            self.desk.void(number, "belongs to another point")
        self.tally["struck out at the drift page"] += bool(wrong)

    # --- other deeds ----------------------------------------------------------------------

    def skip(self) -> None:
        order, here, by_name = self.survey.order, self.survey.position.here, self.is_called_by_name
        self.desk.skip("paint")
        there = self.survey.position.here
        if here is not None and there is not None and not by_name and not self.is_called_by_name:
            if not self.mirrored and self.happens("wrong_skip"):
                self.offset += order.place[here] - order.place[there]
            elif not self.mirrored:
                self.in_step()

    def attempt(self) -> None:
        at, filling = self.chance.random(), self.filling
        if at < 0.15:
            self.desk.attempt("not accessible")
            self.in_step()
            return
        may = filling is not None and filling.meter.spoiled_number_stays_used and not filling.is_full
        is_filed = may and at < 0.5
        if is_filed and filling is not None:
            filling.file(None)
        is_said = is_filed if self.chance.random() < 0.9 else not is_filed
        self.desk.attempt("unstable contact", filed=may and is_said and self.survey.next_number is not None)

    def _some_record(self) -> int | None:
        valid = [number for number, record in self.survey.records.items() if record.is_valid]
        if not valid:
            return None
        return valid[-1] if self.chance.random() < 0.7 else self.chance.choice(valid)

    def redo(self) -> None:
        if (number := self._some_record()) is not None:
            self.desk.redo("tips slipped", number)
            self._want_here(self.survey.records[number].point)

    def void(self) -> None:
        number = self._some_record()
        if number is None:
            return
        record, truth, filling = self.survey.records[number], self.truth[number], self.filling
        self.desk.void(number, "wrong clip")
        if filling is None or truth.filling is not filling or not truth.is_listed or truth.entry is None:
            return
        if record.number == truth.entry.number and self.chance.random() < 0.5:
            filling.erase(truth.entry)
            self.desk.erase(number, "wrong clip")

    def amend(self) -> None:
        """The prober looks at an earlier value again."""
        for number in reversed(self.survey.records):
            record = self.survey.records[number]
            if record.is_valid and record.reading.ohms != self.truth[number].shown.ohms:
                self.desk.amend_value(number, f"{self.truth[number].shown.digits}m", "misheard")
                return

    def jump(self) -> None:
        here = self.survey.position.here
        open_points = [point.id for point in self.desk.unsettled() if point.id != here]
        if open_points:
            point = self.chance.choice(open_points)
            self.desk.jump(point, "on the way")
            self._want_here(point)

    def insert(self) -> None:
        self._want_here(self.desk.insert("Spare strap", f"<= {STANDARD.value}", "not on the plan"))

    def _want_here(self, point: str) -> None:
        self.want(self.survey.position.here == point, f"the walk does not go to {point}")

    def reverse(self) -> None:
        if not self.mirrored and not self.survey.position.back:
            self.desk.reverse("access")
            self.in_step()

    def pause(self) -> None:
        self.desk.pause("tea")
        self.clock.tick(900)
        if self.chance.random() < 0.3:
            self.resume()
        self.desk.proceed()

    def hand_over(self) -> None:
        other = "Cleo" if self.desk.crew.recorder == "Ana" else "Ana"
        self.desk.hand_over("the shift ends", recorder=other)

    def standard(self) -> None:
        """The check standard is read; the meter may file it, and the crew may not say so."""
        filed: Filed | None = None
        if self.filling is not None and self.chance.random() < 0.5:
            filed = self.filling.file(STANDARD)
        is_said = filed is not None and filed.number == self.survey.next_number and self.chance.random() < 0.9
        self.desk.check_standard(
            STANDARD.digits, number=filed.number if filed is not None and is_said else None
        )

    def rework(self) -> bool:
        """A failed bond is repaired, and its point taken again."""
        for point in self.survey.in_state(State.FAILED):
            if not self.survey.standings[point.id].reworked and self.chance.random() < 0.7:
                self.world.repair(point.id)
                self.desk.rework(point.id, "cleaned", "D-1")
                if self.survey.position.here != point.id:
                    self.desk.jump(point.id, "retest")
                return True
        return False

    def resume(self) -> None:
        """Leave, and take the session up again."""
        before, watched = self.survey, self.desk.lookout
        self.desk.leave()
        self.desk = resume_session(self.workspace, self.desk.folder, self.clock)
        self.desk.meters_on_hand = lambda: {each.id: each for each in self.meters}
        self.defects += audit_resumed(before, watched, self.survey, self.desk.lookout)
        self.tally["taken up again"] += 1
        if not self.survey.paused:
            self.watch_drift(is_resumed=True)

    # --- the whole walk -------------------------------------------------------------------

    def walk(self) -> None:
        """From the first point until nothing is left to take; every step is audited."""
        for _ in range(_MOST_STEPS):
            self.defects += audit(self.survey, self.keyed)
            if self.survey.here is None and not self.rework():
                self.want(not self.desk.unsettled(), "the walk ended with a point open")
                return
            self.clock.tick(self.chance.uniform(5, 15) if self.chance.random() < 0.97 else 900)
            if self.survey.check_due and self.chance.random() < 0.85:
                self.check_number()
            if self.survey.here is not None:
                self._deed()()
        self.defects.append("the walk does not end")

    def _deed(self) -> Callable[[], object]:
        at = self.chance.random()
        for share, deed in (
            (0.03, self.attempt),
            (0.02, self.skip),
            (0.02, self.redo),
            (0.02, self.void),
            (0.02, self.resume),
            (0.015, self.amend),
            (0.01, self.jump),
            (0.01, self.insert),
            (0.01, self.pause),
            (0.01, self.standard),
            (0.01, self.check_number),
            (0.008, self.reverse),
            (0.008, self.fresh_run),
            (0.006, self.other_meter),
            (0.006, self.reconcile_now),
            (0.005, self.hand_over),
            (0.004, self.rework),
        ):
            at -= share
            if at < 0:
                return deed
        return self.reading

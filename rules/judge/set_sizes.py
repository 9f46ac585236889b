"""From the lengths of a set file to sizes at 20 °C with their budgets.

A gauge whose uncertainty the file states stands for itself; for one that says nothing the widths
of `rules.uncertainty.size_budget` are assumed and said. A typed value that looks like a slip
becomes a question, not a size.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from barrelfit.rules.engine.catalogue.material import material_of, touched
from barrelfit.rules.engine.setfile import By, Measured, Measuring, SetFile
from barrelfit.rules.engine.sheet import Sheet
from barrelfit.rules.judge.by_hand import ASSUMED, size_by_hand
from barrelfit.rules.judge.entry import Held, Typed, check_entry, check_gauge_size
from barrelfit.rules.judge.evidence import Evidence, Question
from barrelfit.rules.judge.expected import expected_at
from barrelfit.rules.length import NM_PER_UNIT
from barrelfit.rules.model import FeatureId, Size
from barrelfit.rules.said import Said, said
from barrelfit.rules.uncertainty.budget import Budget, Component
from barrelfit.rules.uncertainty.materials import Material
from barrelfit.rules.uncertainty.size_budget import (
    BALLS,
    FACES,
    AsRead,
    GaugeFacts,
    PartFacts,
    Setting,
    size_budget,
    typed_in,
)
from barrelfit.rules.uncertainty.temperature import (
    REFERENCE_MILLI_CELSIUS,
    Temperatures,
    gauge_body,
    part_body,
    temperature_components,
    temperature_notes,
    to_20_nm,
)


@dataclass(frozen=True, slots=True)
class SetSizes:
    """The sizes of a set file, what was held, and what had to be assumed."""

    sizes: dict[FeatureId, Size]
    questions: tuple[Question, ...]
    notes: tuple[Said, ...]


def sizes_of(file: SetFile, sheet: Sheet, materials: Mapping[str, Material]) -> SetSizes:
    """Turn every length of a set file into a size, or into a question where it looks like a slip.

    Args:
        file: the set file.
        sheet: its engine's sheet; its materials must be in `materials`.
        materials: materials by name.
    """
    desk = SizeDesk(file, sheet, materials)
    sizes: dict[FeatureId, Size] = {}
    questions: list[Question] = []
    as_read = {m.at: Size(m.at, m.read_nm, m.read_nm, Budget(()), "file") for m in file.measured}
    beside = Evidence(sheet, file.engine, as_read)
    for measured in file.measured:
        held = desk.held(measured, beside)
        if held is not None:
            questions.append(Question(measured.at, held.question))
        else:
            sizes[measured.at] = desk.size(measured)
    return SetSizes(sizes, tuple(questions), tuple(desk.notes))


_GAUGES = {
    "outside": said("outside_gauge"),
    "bore": said("bore_gauge"),
    "hand": said("hand_gauge"),
}


class SizeDesk:
    """Makes sizes of one set file's lengths; gathers each note once, in `notes`."""

    def __init__(self, file: SetFile, sheet: Sheet, materials: Mapping[str, Material]) -> None:
        self._measuring = file.measuring
        self._sheet = sheet
        self._evidence = Evidence(sheet, file.engine, {})
        self._unit, self._confirmed = file.unit, file.confirmed
        self._materials = materials
        self.notes: list[Said] = []

    def held(self, measured: Measured, beside: Evidence) -> Held | None:
        """Why a length typed into the file does not count yet, None when it does.

        Args:
            measured: the length.
            beside: every length of the file, as it was read.
        """
        expected = expected_at(beside, measured.at)
        text = format((Decimal(measured.read_nm) / NM_PER_UNIT[self._unit]).normalize(), "f")
        typed = Typed(text, self._unit, confirms=str(measured.at) in self._confirmed)
        answer = check_entry(typed, expected)
        return answer if isinstance(answer, Held) else None

    def held_sweep(self, at: FeatureId, read_nm: int) -> Held | None:
        """Why what a sweep read does not count: another unit or feature; None when it does."""
        if str(at) in self._confirmed:
            return None
        return check_gauge_size(read_nm, expected_at(self._evidence, at))

    def size(self, measured: Measured) -> Size:
        """Size at 20 °C of a typed length."""
        if measured.by == "hand":
            return self._by_hand(measured)
        stated_nm = _stated_u_nm(self._measuring, measured.by)
        if stated_nm is None:
            read = typed_in(measured.read_nm, self._measuring.digit_nm)
            return self.size_as_read(measured.at, measured.by, read, "file")
        return self._stated(measured, stated_nm)

    def size_as_read(self, at: FeatureId, by: By, read: AsRead, source: str) -> Size:
        """Size at 20 °C of what a gauge showed, with the gauge's assumed or given setting.

        A gauge's stated uncertainty stands here for its calibration: the sweep has its own.
        """
        contact = BALLS if by == "bore" else FACES
        gauge = GaugeFacts(by, self._gauge_material(), contact, self._setting(by))
        part = PartFacts(at.part, self._material(at))
        found = size_budget(read, gauge, part, self._temperatures(self._measured_on(at)))
        self._note(*found.notes)
        return Size(at, found.size_nm, read.read_nm, found.budget, source)

    def _stated(self, measured: Measured, u_nm: int) -> Size:
        at, read_nm = measured.at, measured.read_nm
        told = said("gauge_stated", gauge=_GAUGES[measured.by])
        components = [Component(f"{measured.by} gauge, as stated", float(u_nm), said=told)]
        if self._measuring.standard:
            name = f"standard {self._measuring.standard}"
            u_nm, told = (
                self._measuring.standard_u_nm,
                said("standard_is", name=self._measuring.standard),
            )
            components.append(Component(name, float(u_nm), shared=name, said=told))
        if self._measuring.at_20:
            return Size(at, read_nm, read_nm, Budget(tuple(components)), "file")
        temperatures = self._temperatures(self._measured_on(at))
        gauge = gauge_body(f"gauge {measured.by}", self._gauge_material(), temperatures)
        part = part_body(at.part, self._material(at), temperatures)
        components += temperature_components(read_nm, gauge, part)
        self._note(*temperature_notes(gauge, part))
        return Size(at, to_20_nm(read_nm, gauge, part), read_nm, Budget(tuple(components)), "file")

    def _by_hand(self, measured: Measured) -> Size:
        if self._measuring.hand_u_nm is None:
            self._note(ASSUMED)
        return size_by_hand(measured.at, measured.read_nm, self._measuring.hand_u_nm)

    def _setting(self, by: By) -> Setting | None:
        if self._measuring.standard:
            return Setting(self._measuring.standard, float(self._measuring.standard_u_nm))
        stated_nm = _stated_u_nm(self._measuring, by)
        return None if stated_nm is None else Setting("", float(stated_nm))

    def _gauge_material(self) -> Material:
        return self._materials[self._measuring.gauge_material]

    def _material(self, at: FeatureId) -> Material:
        """What the gauge touched is made of; where nobody knows, as the sheet's first barrel."""
        part = touched(self._evidence.engine, at)
        name = material_of(self._sheet, part) if part is not None else ""
        return self._materials[name or self._sheet.barrel.kinds[0].material]

    def _measured_on(self, at: FeatureId) -> str:
        part = touched(self._evidence.engine, at)
        return at.part if part is None else part.id

    def _temperatures(self, part: str) -> Temperatures:
        if self._measuring.at_20:
            return Temperatures(REFERENCE_MILLI_CELSIUS, REFERENCE_MILLI_CELSIUS)
        own = dict(self._measuring.warm).get(part, self._measuring.part_milli_celsius)
        return Temperatures(
            own, self._measuring.gauge_milli_celsius, self._measuring.room_milli_celsius
        )

    def _note(self, *notes: Said) -> None:
        self.notes.extend(n for n in dict.fromkeys(notes) if n not in self.notes)


def _stated_u_nm(measuring: Measuring, by: By) -> int | None:
    return measuring.bore_u_nm if by == "bore" else measuring.outside_u_nm

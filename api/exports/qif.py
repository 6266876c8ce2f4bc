"""The standing readings as a QIF 3.0 results document (ISO 23952; schemas of the QIF community repository).

Each item of the sheet becomes a characteristic with its limits, each reading a measurement of it with its
verdict. A value that is still a question is left out and said to be one: a program that reads the file would
take it for measured. Values and limits are the record's own decimals.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Sequence
from datetime import datetime
from uuid import NAMESPACE_URL, uuid5

from api.exports.qif_units import KINDS, QIF_UNITS, QifUnit
from api.exports.standing_readings import StandingReading, plain, standing_readings
from api.report.wording import ADVISES
from api.signing.signed_record import as_plain, record_sha256
from shared.job_sheet import JobSheet
from shared.record import RebuildRecord, Verdict
from shared.sheet_entries import words_of

NAMESPACE = "http://qifstandards.org/xsd/qif3"
_STATUS: dict[Verdict, str] = {
    "within": "PASS", "outside": "FAIL", "undecided": "INDETERMINATE", "no_limit": "NOT_ANALYZED",
}  # fmt: skip
#: What XML 1.0 cannot hold at all (section 2.2).
_NO_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def qif_results(record: RebuildRecord, sheet: JobSheet) -> bytes:
    """Return the document, UTF-8; the same record and sheet give the same bytes.

    Args:
        record: the record.
        sheet: the job sheet that it was made with; a reading that it does not know has no limits.
    """
    return _Document(record, sheet).data()


class _Document:
    """One document while it is built; every thing in it that others name gets the next id."""

    def __init__(self, record: RebuildRecord, sheet: JobSheet) -> None:
        self.record, self.sheet = record, sheet
        self.readings = standing_readings(record, sheet)
        self.root = ET.Element("QIFDocument", {"xmlns": NAMESPACE, "versionQIF": "3.0.0"})
        self.last_id = 0
        self.name = uuid5(NAMESPACE_URL, f"witnessmark:{record_sha256(as_plain(record))}")

    def data(self) -> bytes:
        root = self.root
        _add(root, "QPId", str(self.name))
        if (moment := self._moment()) is not None:
            _add(_add(root, "Version"), "TimeCreated", moment)
        self._header(root)
        specification = self._specification(root)
        self._units(root)
        devices = self._devices(root)
        items = self._characteristics(root, specification) if self.readings else []
        self._results(root, items, devices)
        root.set("idMax", str(self.last_id))
        ET.indent(root)
        text = ET.tostring(root, encoding="utf-8", xml_declaration=True)
        assert isinstance(text, bytes)
        return text + b"\n"

    def _next_id(self) -> str:
        self.last_id += 1
        return str(self.last_id)

    def _moment(self) -> str | None:
        """When the record was signed, else when the work ended, as far as it is known; no clock."""
        said = [signature.at for signature in self.record.signatures] + [self.record.job.ended or ""]
        return next((moment for text in said if (moment := _date_time(text)) is not None), None)

    def _header(self, root: ET.Element) -> None:
        header = _add(root, "Header")
        _add(_add(header, "Application"), "Name", f"witnessmark {self.record.made_by.version}")
        _add(header, "Description", f"Readings of a pump rebuild. {ADVISES}")

    def _specification(self, root: ET.Element) -> str:
        """Add what the readings are judged against, the job sheet; return its id."""
        number = self._next_id()
        standard = _add(_add(root, "StandardsDefinitions", n=1), "Standard", id=number)
        _add(_add(standard, "Organization"), "OtherStandardsOrganization", "the shop's job sheets")
        _add(standard, "Designator", self.sheet.id)
        revision = f", revision {self.sheet.revision}" if self.sheet.revision else ""
        _add(standard, "Title", self.sheet.title + revision)
        return number

    def _units(self, root: ET.Element) -> None:
        used = list(dict.fromkeys(each.reading.unit for each in self.readings))
        units = _add(root, "FileUnits")
        first = _add(units, "PrimaryUnits")
        known = sorted((u for u in used if u in QIF_UNITS), key=lambda u: KINDS.index(QIF_UNITS[u].kind))
        primary = list({QIF_UNITS[unit].kind: unit for unit in reversed(known)}.values())[::-1]
        for unit in primary:
            _unit(first, unit, QIF_UNITS[unit])
        if other := [unit for unit in known if unit not in primary]:
            more = _add(units, "OtherUnits", n=len(other))
            for unit in other:
                _unit(more, unit, QIF_UNITS[unit])
        own = [unit for unit in used if unit not in QIF_UNITS]
        if own:
            listed = _add(units, "UserDefinedUnits", n=len(own))
            for unit in own:
                defined = _add(listed, "UserDefinedUnit")
                _add(defined, "WhatIsMeasured", _MEASURED.get(unit, "count"))
                _add(defined, "UnitName", unit)

    def _devices(self, root: ET.Element) -> dict[str, str]:
        """Add every gauge that was named; return their ids."""
        gauges = list(dict.fromkeys(each.reading.gauge for each in self.readings if each.reading.gauge))
        ids = {gauge: self._next_id() for gauge in gauges}
        if ids:
            listed = _add(_add(root, "MeasurementResources"), "MeasurementDevices", n=len(ids))
            for gauge, number in ids.items():
                _add(_add(listed, "MeasurementDevice", id=number), "Name", gauge)
        return ids

    def _characteristics(self, root: ET.Element, specification: str) -> list[str]:
        """Add definition, nominal and item of every reading; return the items' ids."""
        first: dict[tuple[str, str], StandingReading] = {}
        for each in self.readings:
            first.setdefault((each.reading.item, each.reading.unit), each)
        whole = _add(root, "Characteristics")
        _add(whole, "FormalStandardId", specification)
        definitions = _add(whole, "CharacteristicDefinitions", n=len(first))
        nominals = _add(whole, "CharacteristicNominals", n=len(first))
        items = _add(whole, "CharacteristicItems", n=len(self.readings))
        nominal_ids: dict[tuple[str, str], str] = {}
        for key, each in first.items():
            defined, nominal_ids[key] = self._next_id(), self._next_id()
            self._definition(definitions, each, defined)
            self._nominal(nominals, each, nominal_ids[key], defined)
        ids: list[str] = []
        for each in self.readings:
            ids.append(self._next_id())
            item = _add(items, f"{_kind(each)}CharacteristicItem", id=ids[-1])
            _add(item, "Description", _name(each))
            _add(item, "Name", " ".join(w for w in (each.reading.item, each.reading.position) if w))
            _add(item, "CharacteristicNominalId", nominal_ids[each.reading.item, each.reading.unit])
        return ids

    def _definition(self, parent: ET.Element, each: StandingReading, number: str) -> None:
        kind = _kind(each)
        made = _add(parent, f"{kind}CharacteristicDefinition", id=number)
        _add(made, "Name", each.reading.item)
        if kind == "UserDefinedUnit":
            return  # Its limits stand with its nominal.
        if kind == "UserDefinedAttribute":
            _add(made, "WhatToMeasure", f"{words_of(each.reading.item)} ({_told_limits(each)})")
            return
        if each.limited:
            _limits(_add(made, "Tolerance"), each)
        else:
            _add(made, "NonTolerance", "MEASURED")
        _add(made, "WhatToMeasure", words_of(each.reading.item))

    def _nominal(self, parent: ET.Element, each: StandingReading, number: str, defined: str) -> None:
        kind = _kind(each)
        made = _add(parent, f"{kind}CharacteristicNominal", id=number)
        _add(made, "CharacteristicDefinitionId", defined)
        if each.nominal is not None and kind != "UserDefinedAttribute":
            _add(made, "TargetValue", plain(each.nominal), **_named(each))
        if kind == "UserDefinedUnit":
            _limits(made, each)

    def _results(self, root: ET.Element, items: Sequence[str], devices: dict[str, str]) -> None:
        made = _add(root, "Results")
        results = _add(_add(made, "MeasurementResultsSet", n=1), "MeasurementResults", id=self._next_id())
        self._attributes(results)
        _add(results, "ThisResultsInstanceQPId", str(uuid5(self.name, "results")))
        if items:
            measured = _add(
                _add(results, "MeasuredCharacteristics"), "CharacteristicMeasurements", n=len(items)
            )
            for each, item in zip(self.readings, items, strict=True):
                self._measurement(measured, each, item, devices)
        _add(_add(results, "InspectionStatus"), "InspectionStatusEnum", self._status())
        component = self._next_id()
        _add(_add(results, "ActualComponentIds", n=1), "Id", component)
        sets = _add(made, "ActualComponentSets", n=1)
        pump = _add(_add(sets, "ActualComponentSet", n=1), "ActualComponent", id=component)
        if self.record.job.pump_serial:
            _add(pump, "SerialNumber", self.record.job.pump_serial)
        _add(_add(pump, "Status"), "InspectionStatusEnum", self._status())

    def _attributes(self, parent: ET.Element) -> None:
        job = self.record.job
        said = {
            "work_order": job.work_order, "pump_tag": job.pump_tag, "sheet": job.sheet_id or self.sheet.id,
            "sheet_revision": job.sheet_revision, "technician": job.technician,
            "record_sha256": record_sha256(as_plain(self.record)),
        }  # fmt: skip
        _attributes(parent, {name: value for name, value in said.items() if value})

    def _measurement(
        self, parent: ET.Element, each: StandingReading, item: str, devices: dict[str, str]
    ) -> None:
        entry = each.reading
        made = _add(parent, f"{_kind(each)}CharacteristicMeasurement", id=self._next_id())
        more = {"reading": entry.id, "stage": entry.stage, "words": entry.evidence.words}
        if each.uncertainty is not None:
            # The schema's own attribute wants a mean error beside it, which nobody knows here.
            more["expanded_uncertainty_k2"] = plain(each.uncertainty)
        _attributes(made, more)
        if each.confirmed is None:
            _add(made, "Description", f"still a question: {entry.reason or 'no value'}")
        status = _STATUS[entry.verdict] if each.confirmed is not None else "INDETERMINATE"
        _add(_add(made, "Status"), "CharacteristicStatusEnum", status)
        _add(made, "CharacteristicItemId", item)
        if entry.gauge:
            _add(_add(made, "MeasurementDeviceIds", n=1), "Id", devices[entry.gauge])
        if each.confirmed is not None:
            if _kind(each) == "UserDefinedAttribute":
                _add(made, "Value", f"{each.confirmed} {entry.unit}")
            else:
                _add(made, "Value", each.confirmed, **_named(each))

    def _status(self) -> str:
        """Return the verdict on all of it: nothing passes while something is open."""
        verdicts = {each.reading.verdict for each in self.readings}
        if "outside" in verdicts:
            return "FAIL"
        if not self.readings:
            return "NOT_MEASURED"
        asked = any(each.confirmed is None for each in self.readings) or "undecided" in verdicts
        missed = any(missing.kind == "reading" for missing in self.record.missing)
        return "UNKNOWN" if asked or missed or verdicts == {"no_limit"} else "PASS"


#: What units that QIF has no kind of measure.
_MEASURED = {
    "ft_lb": "torque",
    "in_lb": "torque",
    "N_m": "torque",
    "rpm": "rotational speed",
    "percent": "share",
}


def _kind(each: StandingReading) -> str:
    """Return the kind of characteristic: a unit of our own needs nominal and limit, or is told in words."""
    if (unit := QIF_UNITS.get(each.reading.unit)) is not None:
        return f"UserDefined{unit.kind}"
    return "UserDefinedUnit" if each.nominal is not None and each.limited else "UserDefinedAttribute"


def _named(each: StandingReading) -> dict[str, str]:
    unit = QIF_UNITS.get(each.reading.unit)
    return {unit.attribute if unit else "unitName": each.reading.unit}


def _limits(parent: ET.Element, each: StandingReading) -> None:
    for name, value in (("MaxValue", each.upper), ("MinValue", each.lower)):
        if value is not None:
            _add(parent, name, plain(value), **_named(each))
    _add(parent, "DefinedAsLimit", "true")


def _told_limits(each: StandingReading) -> str:
    """Return unit and limits in words, where the schema has no place for their numbers."""
    told = [("nominal", each.nominal), ("at least", each.lower), ("at most", each.upper)]
    return ", ".join([each.reading.unit, *(f"{name} {plain(n)}" for name, n in told if n is not None)])


def _name(each: StandingReading) -> str:
    words = [words_of(each.reading.item), each.place, words_of(each.reading.stage)]
    return ", ".join(word for word in words if word)


def _unit(parent: ET.Element, name: str, unit: QifUnit) -> None:
    made = _add(parent, f"{unit.kind}Unit")
    _add(made, "SIUnitName", unit.si_name)
    _add(made, "UnitName", name)
    conversion = _add(made, "UnitConversion")
    _add(conversion, "Factor", unit.factor)
    _add(conversion, "Offset", unit.offset)


def _attributes(parent: ET.Element, values: dict[str, str]) -> None:
    listed = _add(parent, "Attributes", n=len(values))
    for name, value in values.items():
        _add(listed, "AttributeStr", name=name, value=_NO_XML.sub("", value))


def _add(parent: ET.Element, tag: str, text: str | None = None, /, **attributes: str | int) -> ET.Element:
    made = ET.SubElement(parent, tag, {name: str(value) for name, value in attributes.items()})
    made.text = None if text is None else _NO_XML.sub("", text)
    return made


def _date_time(text: str) -> str | None:
    """Return a moment as XML Schema has it, or None for what is none."""
    try:
        return datetime.fromisoformat(text).isoformat(timespec="milliseconds")
    except ValueError:
        return None

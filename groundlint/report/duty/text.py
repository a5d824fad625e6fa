"""A calculation record as text, for an engineer to read in a terminal or on paper and to sign beside."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from textwrap import wrap

from groundlint.electrical.physics.body import CRITERIA
from groundlint.electrical.physics.leads import LeadSize
from groundlint.electrical.record.figures import (
    BODY_CRITERIA,
    STEADY_CRITERIA,
    VOLTAGE_CRITERION,
    Device,
    Induced,
    Stretch,
    ended_by,
    share_of,
    steady_limit,
)
from groundlint.electrical.record.inputs import Input
from groundlint.electrical.record.record import Assumed, CalculationRecord, Returning
from groundlint.electrical.study.results import LeadDuty, RodResult
from groundlint.plan.models import SupplySource
from groundlint.report.closing import CAUTION
from groundlint.report.duty.chart import LEGEND, draw
from groundlint.report.duty.entries import SI, Asked, gap_entries, protection_words
from groundlint.report.duty.words import Places, margin_words
from groundlint.text import Diagnostic
from groundlint.values import Bounds, Unknown
from groundlint.values.bounds import Measure, ends
from groundlint.words.quantities import NOT_SHOWN, in_words, rounded, stated
from groundlint.words.rows import names_together

WIDTH = 100
NO_END = "no end"
"""In the place of a heat or temperature that grows for as long as nothing clears the fault."""

AT_THE_ROD = 0.1
"""m; a distance to keep that is less than this is said to be none."""

BESIDE_CRITERIA = ("dalziel-50kg", "osha-fibrillation")
"""Limits that the table of faults on a circuit beside the line has margins for; the rest stand in JSON and CSV."""

MOST_GAPS = 24
"""Facts to state that are listed; the rest are counted."""


def duty_text(
    record: CalculationRecord,
    version: str,
    problems: Sequence[Diagnostic] = (),
    asked: Asked | None = None,
    width: int = WIDTH,
) -> str:
    """The record, ending in a line end. `width` is 60 or more."""
    return "\n".join(_Text(record, version, problems, asked, max(width, 60)).lines()) + "\n"


class _Text:
    def __init__(
        self,
        record: CalculationRecord,
        version: str,
        problems: Sequence[Diagnostic],
        asked: Asked | None,
        width: int,
    ) -> None:
        self.record = record
        self.version = version
        self.problems = problems
        self.asked = asked or Asked("", "", "", "")
        self.width = width
        self.feet = record.plan.in_feet
        self.places = Places(record.timeline)

    def lines(self) -> Iterator[str]:
        """Every line."""
        record = self.record
        yield from self._head()
        whole = not self.asked.narrowed
        if whole:
            yield from self._inputs()
        if record.missing is not None and not record.sources:
            yield from self._section("Nothing was computed")
            for gap in record.missing.gaps:
                write = f"; write `{gap.write}`" if gap.write else ""
                yield from self._wrap(f"Not stated: {gap.fact}{write}.")
        else:
            if whole:
                yield from self._assumed()
            if whole:
                yield from self._summary()
            for one in record.sources:
                yield from self._source(one)
            yield from self._induction()
            yield from self._beside()
            yield from self._gaps()
            yield from self._equations()
        yield from self._foot()

    # ---- pieces ----

    def _wrap(self, text: str, indent: int = 2, hang: int = 0) -> Iterator[str]:
        yield from wrap(
            text,
            self.width,
            initial_indent=" " * indent,
            subsequent_indent=" " * (indent + hang),
            break_long_words=False,
            break_on_hyphens=False,
        )

    def _section(self, title: str) -> Iterator[str]:
        yield ""
        yield title
        yield "=" * min(len(title), self.width)

    def _table(self, heads: Sequence[str], rows: Sequence[Sequence[str]], left: int = 1) -> Iterator[str]:
        """Columns two blanks apart, the first `left` of them aligned left and the last, the others right; columns
        that do not fit go on below, under their own heads, after the first."""
        taken = 1
        while taken < len(heads):
            wide = [max(len(heads[0]), *(len(row[0]) for row in rows))]
            columns = [0]
            for at in range(taken, len(heads)):
                size = max(len(heads[at]), *(len(row[at]) for row in rows))
                if columns != [0] and sum(wide) + size + 2 * len(wide) + 2 > self.width:
                    break
                columns.append(at)
                wide.append(size)
            for row in (heads, *rows):
                cells = [
                    f"{row[at]:<{size}}" if at < left or at == len(heads) - 1 else f"{row[at]:>{size}}"
                    for at, size in zip(columns, wide, strict=True)
                ]
                yield ("  " + "  ".join(cells)).rstrip()
            taken = columns[-1] + 1
            if taken < len(heads):
                yield ""

    # ---- top and bottom ----

    def _head(self) -> Iterator[str]:
        plan = self.record.plan
        head, tail = "CALCULATION RECORD", f"groundlint {self.version}"
        yield f"{head}{tail:>{self.width - len(head)}}"
        yield from self._wrap(plan.title or "a plan without a title", 0)
        document = " ".join(
            part
            for part in (
                plan.document or "",
                f"revision {plan.revision}" if plan.revision else "",
                f"dated {plan.dated}" if plan.dated else "",
            )
            if part
        )
        yield from self._wrap(f"{document}; {plan.source.name}" if document else plan.source.name, 0)
        yield ""
        yield from self._wrap(" ".join(CAUTION.split()), 0)
        if self.problems:
            yield ""
            yield from self._wrap(
                "NOT ALL OF THIS PLAN COULD BE READ OR DONE AS WRITTEN. What follows may be the numbers of another "
                "plan:",
                0,
            )
            for one in self.problems:
                mend = f" ({one.mend})" if one.mend else ""
                yield from self._wrap(f"{self.places.line(one.span)}: {one.message}{mend}", 2, 2)
        if self.asked.narrowed:
            asked = self.asked
            parts = [
                f"{name} {value}"
                for name, value in (
                    ("step", asked.step),
                    ("source", asked.source),
                    ("worker", asked.worker),
                    ("lead", asked.lead),
                )
                if value
            ]
            yield ""
            yield from self._wrap(f"Narrowed to {', '.join(parts)}; what else there is was left out.", 0)

    def _foot(self) -> Iterator[str]:
        if self.asked.narrowed:
            return
        yield ""
        yield from self._wrap(
            "The numbers hold for the plan as written and the bounds above. To be checked by a licensed engineer:", 0
        )
        for who in ("Checked by", "Licence", "Date"):
            yield ""
            yield f"{who:<12}{'_' * 40}"

    # ---- what went in ----

    def _inputs(self) -> Iterator[str]:
        yield from self._section("Stated in the plan")
        whole: dict[tuple[str, str], list[str]] = {}
        lines: dict[tuple[str, str], dict[str, None]] = {}
        for one in self.record.inputs:
            key = (one.kind, one.thing)
            whole.setdefault(key, []).append(self._stated(one))
            lines.setdefault(key, {})[self.places.line(one.span)] = None
        together: dict[tuple[str, str, str], list[str]] = {}
        for (kind, thing), words in whole.items():
            said = ", ".join(words)
            if kind == "lead" and not any(word.startswith("grade ") for word in words):
                said += ", grade not stated"
            together.setdefault((kind, said, _lines(lines[kind, thing])), []).append(thing)
        for (kind, said, where), things in together.items():
            names = " ".join(names_together(things))
            label = names if kind == names else f"{kind} {names}"
            yield from self._wrap(f"{label}: {said} ({where})", 2, 4)
        if not whole:
            yield "  nothing that a calculation could start from"

    def _stated(self, one: Input) -> str:
        """An input in the words of the plan; one that stands elsewhere, as a `given` does, to its last digit."""
        if isinstance(one.value, str):
            bare = one.quantity in ("size", "metal", "material", "wire", "grounding")
            return one.value if bare else f"{one.quantity} {one.value}"
        return f"{one.quantity} {stated(one.value, one.unit, one.span, self.feet)}"

    def _assumed(self) -> Iterator[str]:
        yield from self._section("Assumed, as no plan states it; results hold for all between low and high")
        for one in self.record.assumed:
            yield from self._assumption(one)
        if not self.record.assumed:
            yield "  nothing"

    def _assumption(self, one: Assumed) -> Iterator[str]:
        row = one.assumption
        unit = SI.get(row.dimension, "")
        if unit == "m":
            bounds = f"{row.low:g}–{row.high:g} m"
        elif row.low < 0:
            bounds = f"{row.low:g} to {row.high:g} {unit}"
        else:
            bounds = in_words(Bounds.of(row.low, row.high, (row.gap,)), unit)
        name = row.name.replace("-", " ")
        if one.measured is not None:
            yield from self._wrap(f"{name}: measured, {stated(one.measured, unit, None)} (else {bounds})", 2, 4)
            return
        yield from self._wrap(f"{name}: {bounds}", 2, 4)
        known = "" if row.how.value in row.source else f" ({row.how.value})"
        yield from self._wrap(f"{row.reason}; {row.source}{known}", 6)

    # ---- the worst of all ----

    def _summary(self) -> Iterator[str]:
        worst: dict[str, tuple[float, tuple[str, str, str, str]]] = {}
        unknown: dict[str, int] = {}
        for figure in self.record.figures:
            if figure.quantity not in ("duty", "body-current-500-ohm", "induced-current"):
                continue
            if figure.criterion not in ("lead-rating", "dalziel-50kg", "let-go-women"):
                continue
            found = figure.margin
            if figure.limit is None or found is None or isinstance(found, Unknown):
                unknown[figure.kind] = unknown.get(figure.kind, 0) + 1
                continue
            low = ends(found)[0]
            value = f"{in_words(figure.value, figure.unit)} of {in_words(figure.limit, figure.unit)}"
            held = {"lead": "rating", "worker": "50 kg, 500 ohm", "induction": "let-go"}[figure.kind]
            by = "beside" if figure.kind == "induction" else "returning"
            apart = [one.apart for one in self.record.leads if (one.lead.name, one.source.name) == figure[1:3]]
            row = (
                f"{figure.kind} {figure.thing}",
                f"{value} ({held})",
                margin_words(found) + (f", least by {apart[0]}" if any(apart) else ""),
                f"{self.places.after(figure.at)}, {figure.source} {by}",
            )
            if figure.kind not in worst or low < worst[figure.kind][0]:
                worst[figure.kind] = (low, row)
        rows = [row for _, row in worst.values()]
        if not rows and not unknown:
            return
        yield from self._section("Least margins")
        for thing, value, margin, where in rows:
            yield from self._wrap(f"{thing}: {value}, margin {margin}, {where}", 2, 4)
        for kind, count in unknown.items():
            results = "1 result is" if count == 1 else f"{count} results are"
            yield from self._wrap(f"{kind}: {results} not shown, any of which may be worse", 2, 4)

    # ---- a source ----

    def _source(self, one: Returning) -> Iterator[str]:
        source = one.source
        yield from self._section(f"Should {source} return")
        yield from self._wrap(f"{self._equivalent(one)}; {protection_words(one.protection)}", 2, 2)
        if isinstance(one.equivalent, Unknown):
            needs = "; ".join(f"{gap.fact} (write `{gap.write}`)" for gap in one.equivalent.gaps)
            yield from self._wrap(f"Not shown, as it is not stated: {needs}", 2, 2)
        for device in self.record.devices:
            if device.clearing.source is source:
                yield from self._device(device)
        leads = [duty for duty in self.record.leads if duty.source is source]
        if leads:
            yield from self._leads(leads)
        rods = [rod for rod in self.record.rods if rod.source is source]
        if rods:
            yield from self._rods(rods)
        yield from self._workers(source)
        if not leads and not rods and not any(s.exposure.source is source for s in self.record.stretches):
            yield ""
            yield "  No lead is on, no rod is set and nobody is in place at what was asked."

    def _equivalent(self, one: Returning) -> str:
        found = one.equivalent
        if isinstance(found, Unknown):
            return f"Equivalent {NOT_SHOWN}"
        ratio = "no resistance" if math.isinf(found.x_over_r) else f"X/R {rounded(found.x_over_r)}"
        z0 = f"Z0 {_complex(found.z0)}" if isinstance(found.z0, complex) else "no path for zero sequence"
        both = f"Z1 and Z0 {_complex(found.z1)} each" if found.z0 == found.z1 else f"Z1 {_complex(found.z1)}, {z0}"
        return f"{in_words(found.emf, 'V')} behind {both}; {ratio}"

    def _device(self, device: Device) -> Iterator[str]:
        found = device.clearing
        yield ""
        if isinstance(found.share, Unknown):
            yield from self._wrap(f"Device: {NOT_SHOWN} {self.places.after(found.at)}", 2, 2)
            return
        percent = in_words(found.share, "%")
        words = (
            f"Device, with the grounds {self.places.after(found.at)}: at the least {in_words(found.least, 'A')}, "
            f"{percent} of the {in_words(device.bolted, 'A')} of a bolted fault (by {found.way})"
        )
        if device.relayed or not isinstance(found.multiple, Unknown):
            words += f", {in_words(found.multiple)} times pickup"
        words += f"; clears in {_time(found.time)}"
        if not device.relayed:
            words += " as stated, whatever the current"
            if not isinstance(found.multiple, Unknown) and ends(found.multiple)[0] <= 1:
                never = ends(found.multiple)[1] <= 1
                words += f", BUT THE STATED RELAY {'DOES NOT TRIP' if never else 'MAY NOT TRIP'} FOR SO LITTLE"
        elif isinstance(device.slower, Unknown):
            words += f", {NOT_SHOWN} how much later for the grounds"
        elif math.isinf(ends(device.slower)[1]):
            words += "; NEVER TRIPS" if math.isinf(ends(device.slower)[0]) else "; MAY NEVER TRIP"
        else:
            words += f", {in_words(device.slower, 's')} later for the grounds' impedance"
        yield from self._wrap(words, 2, 2)

    def _leads(self, leads: Sequence[LeadDuty]) -> Iterator[str]:
        yield ""
        yield "  Leads, worst over the steps at which both ends are on"
        rows = []
        for one in leads:
            size = one.enough.designation.removesuffix(" copper") if isinstance(one.enough, LeadSize) else NOT_SHOWN
            endless = not isinstance(one.time, Unknown) and math.isinf(ends(one.time)[1])
            rows.append(
                (
                    one.lead.name + (f" ({one.gang} share)" if one.gang > 1 else ""),
                    in_words(one.current, "A"),
                    in_words(one.duty, "A"),
                    in_words(one.rating, "A"),
                    margin_words(share_of(1.0, one.loading)),
                    f"{self.places.number(one.at) or 'start'} by {one.way}" if one.way else self.places.number(one.at),
                    in_words(one.peak, "A"),
                    NO_END if endless else in_words(one.i2t, "A2 s"),
                    _time(one.time),
                    NO_END if endless else in_words(one.temperature, "C"),
                    NO_END if endless else size,
                )
            )
        heads = ("lead", "current", "duty", "rating", "margin", "worst after step")
        yield from self._table(heads, [row[: len(heads)] for row in rows])
        yield ""
        more = ("lead", "first peak", "I2t", "time", "end temperature", "least size")
        yield from self._table(more, [(row[0], *row[len(heads) :]) for row in rows])
        bases: dict[str, list[str]] = {}
        for one in leads:
            if one.basis:
                bases.setdefault(one.basis, []).append(one.lead.name)
        for basis, names in bases.items():
            yield from self._wrap(f"rating of {' '.join(names_together(names))}: {basis}", 2, 2)
        ways: dict[str, list[str]] = {}
        for one in leads:
            if one.apart:
                ways.setdefault(one.apart, []).append(one.lead.name)
        for way, names in ways.items():
            least = f"margin of {' '.join(names_together(names))}: least by {way}, a smaller current that lasts longer"
            yield from self._wrap(f"{least}, for which the rating is lower", 2, 2)

    def _rods(self, rods: Sequence[RodResult]) -> Iterator[str]:
        yield ""
        yield "  Rods, worst over the steps at which they are in the ground"
        rows = [
            (
                one.rod.name,
                in_words(one.resistance, "ohm"),
                in_words(one.current, "A"),
                in_words(one.rise, "V"),
                self._away(one.keep_away),
                f"{self.places.number(one.at) or 'start'} by {one.way}" if one.way else self.places.number(one.at),
            )
            for one in rods
        ]
        yield from self._table(("rod", "resistance", "current", "rise", "keep away", "worst after step"), rows)

    def _away(self, distance: Measure | Unknown) -> str:
        """A distance to keep; the formula stops short of the rod itself."""
        if not isinstance(distance, Unknown) and ends(distance)[1] < AT_THE_ROD:
            return "no more than at it"
        return in_words(distance, "m", self.feet)

    # ---- people ----

    def _workers(self, source: SupplySource) -> Iterator[str]:
        mine = [one for one in self.record.stretches if one.exposure.source is source]
        drawn: dict[tuple[object, ...], list[str]] = {}
        rows: dict[str, list[Stretch]] = {}
        for one in mine:
            rows.setdefault(one.exposure.person.name, []).append(one)
        for name, stretches in rows.items():
            # two who take up a place by one statement differ by an action within it
            key = tuple(
                (self.places.number(s.first), s.exposure.voltage, s.exposure.pair, s.exposure.time) for s in stretches
            )
            drawn.setdefault(key, []).append(name)
        legend = False
        for names in drawn.values():
            stretches = max((rows[name] for name in names), key=lambda found: found[-1].last)
            worst = self.record.worst(stretches[0].exposure.person, source)
            yield ""
            yield f"  {' and '.join(names)}: volts between things in reach"
            yield from draw(stretches, worst, self.places, self.width)
            if not legend:
                yield from self._wrap(LEGEND, 2)
                legend = True
            if worst is not None:
                yield from self._worst(worst, stretches)

    def _worst(self, worst: Stretch, stretches: Sequence[Stretch]) -> Iterator[str]:
        found = worst.exposure
        pair = f"between {found.pair[0]} and {found.pair[1]}" if found.pair is not None else "nothing in reach differs"
        by = f", returning by {found.way}" if found.way else ""
        yield ""
        yield from self._wrap(
            f"Worst {self.places.after(worst.first, worst.last)}: {in_words(found.voltage, 'V')} {pair}{by}, for "
            f"{_time(found.time)}",
            2,
            2,
        )
        unknown = sum(isinstance(one.exposure.voltage, Unknown) for one in stretches)
        if unknown:
            said = "1 row is" if unknown == 1 else f"{unknown} rows are"
            yield f"  {said} not shown; any of them may be worse."
        rows = [
            [
                _criterion(criterion),
                in_words(worst.limit(criterion), "A"),
                f"{CRITERIA[criterion].body:g} ohm",
                in_words(worst.body_current(criterion), "A"),
                margin_words(share_of(1.0, worst.load(criterion))),
            ]
            for criterion in BODY_CRITERIA
        ]
        yield from self._table(["held against", "limit", "body", "current", "margin"], rows)
        ended = ended_by(found.time)
        if ended:
            yield from self._wrap(ended, 2, 2)
        limit = worst.limit(VOLTAGE_CRITERION)
        if isinstance(limit, Unknown) or ends(limit)[0] > 0:
            said = f"{in_words(limit, 'V')}, margin {margin_words(share_of(1.0, worst.load(VOLTAGE_CRITERION)))}"
        else:
            said = f"gives no limit for {_time(found.time)}"
        yield f"  {_criterion(VOLTAGE_CRITERION)}: {said}"

    def _induction(self) -> Iterator[str]:
        rows: dict[str, list[Induced]] = {}
        for one in self.record.induced:
            rows.setdefault(one.circuit.name, []).append(one)
        for name, found in rows.items():
            yield from self._section(f"Induced by {name}, for as long as it carries current")
            limits = [steady_limit(criterion) for criterion in STEADY_CRITERIA]
            heads = ["worker", "after step", "current", *(_criterion(criterion) for criterion in STEADY_CRITERIA)]
            table = []
            for one in found:
                margins = [margin_words(share_of(limit, one.current)) for limit in limits]
                where = self.places.number(one.first) or "start"
                if one.last > one.first:
                    where = f"{where} to {self.places.number(one.last)}"
                table.append((one.person.name, where, in_words(one.current, "A"), *margins))
            yield from self._table(heads, table)

    def _beside(self) -> Iterator[str]:
        rows: dict[str, list[Stretch]] = {}
        for one in self.record.beside:
            rows.setdefault(one.exposure.source.name, []).append(one)
        for name, found in rows.items():
            yield from self._section(f"A fault to ground on {name}: volts between things in reach")
            heads = [
                "worker",
                "after step",
                "voltage",
                "time",
                *(_criterion(criterion) for criterion in BESIDE_CRITERIA),
            ]
            table = []
            for one in found:
                where = self.places.number(one.first) or "start"
                if one.last > one.first:
                    where = f"{where} to {self.places.number(one.last)}"
                margins = [margin_words(share_of(1.0, one.load(criterion))) for criterion in BESIDE_CRITERIA]
                volts, time = in_words(one.exposure.voltage, "V"), _time(one.exposure.time)
                table.append((one.exposure.person.name, where, volts, time, *margins))
            yield from self._table(heads, table)

    # ---- what would help, and how it was found ----

    def _gaps(self) -> Iterator[str]:
        entries = list(gap_entries(self.record))
        for title, wanted in (
            ("Not shown for want of", [one for one in entries if one.missing_in]),
            ("What would bring low and high together", [one for one in entries if one.narrows and not one.missing_in]),
        ):
            if not wanted:
                continue
            yield from self._section(title)
            for one in wanted[:MOST_GAPS]:
                count = one.missing_in or one.narrows
                source = self.record.plan.source
                where = "a line of its own" if one.line is None else source.called(one.line)
                if one.line is not None and one.path != source.name:
                    where = f"{one.path} line {one.line}"
                write = f": write `{one.write}` in {where}" if one.write else ""
                yield from self._wrap(f"{one.fact} ({count} result{'s' * (count != 1)}){write}", 2, 4)
            if len(wanted) > MOST_GAPS:
                yield f"  and {len(wanted) - MOST_GAPS} more"

    def _equations(self) -> Iterator[str]:
        rows = self.record.equations
        if not rows:
            return
        yield from self._section("How each is found, and where that stands")
        for row in rows:
            yield from self._wrap(f"{row.name.replace('-', ' ')}: {row.symbols}", 2, 4)
            yield from self._wrap(f"{row.words}; {row.source}", 6)


def _lines(found: dict[str, None]) -> str:
    """Lines in a row: ``lines 20 21``."""
    own = sorted({int(text.removeprefix("line ")) for text in found if text.startswith("line ")})
    other = [text for text in found if not text.startswith("line ")]
    words = [f"line{'s' * (len(own) > 1)} {' '.join(map(str, own))}"] if own else []
    return ", ".join([*words, *other])


def _time(time: Measure | Unknown) -> str:
    """How long a fault lasts."""
    if isinstance(time, Unknown) or math.isfinite(ends(time)[1]):
        return in_words(time, "s")
    low, _ = ends(time)
    return "never" if math.isinf(low) else f"{in_words(low, 's')} or never"


def _complex(value: complex) -> str:
    return f"{rounded(value.real)} + j{rounded(value.imag)} ohm"


_NAMES = {
    "dalziel-50kg": "50 kg (IEEE 80)",
    "dalziel-70kg": "70 kg (IEEE 80)",
    "iec-c1": "curve c1 (IEC 60479-1)",
    "osha-fibrillation": "50 kg (29 CFR 1910.269 App. C)",
    "doe-voltage": "Voltage across the work (DOE-HDBK-1092)",
    "let-go-men": "let-go, men",
    "let-go-women": "let-go, women",
    "osha-reaction": "reaction",
}


def _criterion(name: str) -> str:
    return _NAMES.get(name) or CRITERIA[name].name

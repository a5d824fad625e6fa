"""The briefing's view model: everything that the page says, in the order in which it says it, and no markup."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from groundlint.facts import PlanTrace
from groundlint.findings.model import Finding, Kind, Review
from groundlint.plan.models import Bar, Capacitor, Lead, Line, Person, Plan, Rod, Structure, SupplySource
from groundlint.report.brief.chart import Chart, Mark, worst_of
from groundlint.report.brief.results import Duty, Electrical, Exposure, gravity
from groundlint.report.brief.scene import Scene
from groundlint.report.brief.scene_making import Scenes
from groundlint.report.brief.sheet import Register, Sheets, Stage, Step
from groundlint.report.brief.strip import Frame
from groundlint.report.brief.words import not_shown
from groundlint.report.closing import CAUTION
from groundlint.report.text import MOST_ALIKE
from groundlint.steps import AT_WORK, PLACING
from groundlint.steps.saying import NOT_STATED
from groundlint.text import Severity
from groundlint.timeline import replay
from groundlint.values import Bounds, Unknown
from groundlint.values.bounds import gaps_of
from groundlint.words.quantities import in_words, stated
from groundlint.words.rows import counted


@dataclass(frozen=True)
class Status:
    """What the review came to: ``word`` is ``clean``, ``passed``, ``broken`` or ``not shown``; ``said`` for people."""

    word: str
    said: str
    counts: tuple[tuple[str, int], ...]


@dataclass(frozen=True)
class Noted:
    """A finding as it stands on the page. ``also`` are others of the same rule on the same line."""

    level: str
    kind: str
    message: str
    slug: str
    place: str
    written: str
    rule: str
    cites: str
    next: str
    also: tuple[str, ...]
    waived: str = ""


@dataclass(frozen=True)
class Rated:
    """One row of the duty table, in words."""

    lead: str
    duty: str
    rating: str
    share: str
    verdict: str
    step: str
    source: str
    basis: str


@dataclass(frozen=True)
class Exposed:
    """One row of the exposure table: a worker over a run of steps where nothing changes."""

    worker: str
    steps: str
    volts: str
    limit: str
    verdict: str
    source: str
    between: str
    why: str
    worst: bool


@dataclass(frozen=True)
class Recorded:
    """One row of the calculation record."""

    what: str
    value: str
    equation: str
    source: str


@dataclass(frozen=True)
class Signer:
    """A person of the crew, to sign that the briefing was had."""

    name: str
    role: str
    crew: str


@dataclass(frozen=True)
class Page:
    """The whole briefing."""

    title: str
    block: tuple[tuple[str, str], ...]
    status: Status
    job: tuple[str, ...]
    cautions: tuple[str, ...]
    emergencies: tuple[str, ...]
    blanks: tuple[str, ...]
    scene: Scene
    frames: tuple[Frame, ...]
    chart: Chart
    exposed: tuple[Exposed, ...]
    stages: tuple[Stage, ...]
    register: Register
    findings: tuple[Noted, ...]
    waived: tuple[Noted, ...]
    asks: tuple[tuple[str, str], ...]
    rated: tuple[Rated, ...]
    recorded: tuple[Recorded, ...]
    assumed: tuple[tuple[str, str, str, str, str], ...]
    missing: str
    limit: str
    signers: tuple[Signer, ...]
    standing: tuple[str, ...]
    document: str


STANDING = (
    "A fact that the plan does not state is never taken as a safe one: where it says not shown, somebody finds out.",
    "The drawing is a scheme and not to scale: it shows what is joined to what, not where it hangs.",
    "The ground register is counted by eye as well as by this page: each one on, each one off, before the release.",
)
"""Cautions that stand on every page."""


def status_of(review: Review, gate: Severity) -> Status:
    """What a review came to, where what is at the ``gate`` or above fails."""
    code = review.status(gate)
    if review.plan.unread:
        said = "Not fit for use: a part of the plan could not be read."
    elif code == 1:
        said = "Not fit for use: the review found rules broken, or steps that cannot be done as written."
    elif code == 2:
        said = "Not fit for use yet: the plan does not say enough to show that every rule is met."
    else:
        said = f"The review has nothing at {gate.word} or above against this plan."
    return Status(review.word(gate), said, tuple(review.counts().items()))


class UnknownStepError(ValueError):
    """The plan has no step of that number."""


class Brief:
    """A reviewed plan made ready to be shown: the page, and the drawing at any step."""

    def __init__(self, review: Review, electrical: Electrical, gate: Severity = Severity.WARNING) -> None:
        self.gate = gate
        self.review = review
        self.plan: Plan = review.plan
        self.trace = review.trace if review.trace is not None else PlanTrace(replay(review.plan))
        self.timeline = self.trace.timeline
        self.sheets = Sheets(self.timeline)
        self.electrical = electrical
        self.scenes = Scenes(self.trace, self.sheets, electrical)
        self.steps: tuple[Step, ...] = tuple(step for stage in self.sheets.stages for step in stage.steps)

    # ---- scenes ----

    def scene_at(self, number: str | None = None) -> Scene:
        """The drawing when a step is done; a step of a routine is ``8.3``, and ``8`` is the whole routine.

        Without a number: at work, when most people are in place and most leads are on. Raises `UnknownStepError`.
        """
        if number is None:
            position, number = self._at_work(), self.at_work
            return self.scenes.at(
                position, f"The line while the work is done (after step {number})" if number else "The line"
            )
        wanted = number.strip().rstrip(".")
        found = [s for s in self.steps if s.number == wanted or s.number.startswith(wanted + ".")]
        if not found:
            raise UnknownStepError(number)
        return self.scenes.at(found[-1].last + 1, f"The line after step {wanted}")

    @property
    def at_work(self) -> str:
        """The step after which the work is done; empty where the plan has none."""
        step = self._step_before(self._at_work())
        return step.number if step is not None else ""

    def _at_work(self) -> int:
        holds, timeline = self.sheets.holds, self.timeline
        ends = [step.last + 1 for step in self.steps] or [0]
        return max(ends, key=lambda at: (len(timeline.people_in_place(at)), len(holds.at(at)), -at))

    def _step_before(self, position: int) -> Step | None:
        return next((step for step in reversed(self.steps) if step.last < position), None)

    def frames(self) -> tuple[Frame, ...]:
        """The line at each stage: when it is done, or, where people have come and gone, while they are in place."""
        timeline, holds = self.timeline, self.sheets.holds
        found = []
        for stage in self.sheets.stages:
            step = stage.steps[-1]
            if not timeline.people_in_place(step.last + 1):
                step = max(
                    reversed(stage.steps),
                    key=lambda one: (len(timeline.people_in_place(one.last + 1)), len(holds.at(one.last + 1))),
                )
            during = bool(timeline.people_in_place(step.last + 1)) and step is not stage.steps[-1]
            if not during:
                step = stage.steps[-1]
            scene = self.scenes.at(step.last + 1, f"After step {step.number}")
            found.append(Frame(stage.name, step.number, during, scene))
        return tuple(found)

    # ---- the page ----

    def page(self, version: str) -> Page:
        """All of it."""
        plan, electrical = self.plan, self.electrical
        chart = self.chart()
        return Page(
            plan.title or "Plan without a title",
            tuple(self._block(version)),
            status_of(self.review, self.gate),
            tuple(self._job()),
            plan.cautions,
            plan.emergencies,
            plan.blanks,
            self.scene_at(),
            self.frames(),
            chart,
            tuple(exposure_rows(chart)),
            self.sheets.stages,
            self.sheets.register(),
            tuple(noted(group) for group in grouped(self.review.open_findings)),
            tuple(noted(group) for group in grouped(self.review.waived)),
            tuple((ask.fact, ask.how(self.review.plan)) for ask in self.review.asks()),
            tuple(self._rated()),
            tuple(
                Recorded(
                    one.what,
                    f"not shown: {not_shown(one.value)}" if isinstance(one.value, Unknown) else one.value,
                    one.equation,
                    one.source,
                )
                for one in electrical.computed
            ),
            tuple((one.what, one.low, one.high, one.reason, one.source) for one in electrical.assumed),
            electrical.missing,
            electrical.limit,
            tuple(Signer(p.name, p.role, p.crew or "") for p in plan.of(Person) if isinstance(p, Person)),
            (" ".join(CAUTION.split()), *STANDING),
            " ".join(part for part in (plan.document, f"rev {plan.revision}" if plan.revision else "") if part),
        )

    def _block(self, version: str) -> Iterator[tuple[str, str]]:
        plan = self.plan
        yield "Document", plan.document or NOT_STATED
        yield "Revision", plan.revision or NOT_STATED
        yield "Dated", plan.dated.isoformat() if plan.dated else NOT_STATED
        line = plan.line
        yield "Line", f"{line.name}, {voltage_words(line)}" if line is not None else NOT_STATED
        yield "Method", method_words(plan)
        yield "Work at", ", ".join(self._worksites()) or NOT_STATED
        yield "Plan text", plan.source.name
        yield "Rulebooks", ", ".join(self.review.books)
        yield "Made by", f"groundlint {version}"

    def _worksites(self) -> list[str]:
        sites: dict[str, None] = {}
        for action in self.plan.actions:
            here = action.slots.get("structure")
            if action.kind in AT_WORK and isinstance(here, Structure):
                sites[here.name] = None
        return list(sites)

    def _job(self) -> Iterator[str]:
        """The job in a paragraph, sentence by sentence."""
        plan, register = self.plan, self.sheets.register()
        sites = self._worksites()
        line = plan.line
        yield f"{(plan.title or 'The job').rstrip('.')}."
        if line is not None:
            wires = f"phases {' '.join(p.name for p in line.phases)}" if line.phases else f"phases {NOT_STATED}"
            neutral = (
                "no neutral"
                if line.neutral is False
                else f"neutral {getattr(line.neutral, 'name', '')} {line.neutral_earthing or ''}".strip()
                if line.neutral
                else f"neutral {NOT_STATED}"
            )
            yield f"The line is {line.name}, {voltage_words(line)}, {wires}, {neutral}."
        sources = [s for s in plan.of(SupplySource) if isinstance(s, SupplySource)]
        if sources:
            more = "no other" if plan.sources_complete else f"whether there is another is {NOT_STATED}"
            yield f"It can be fed from {', '.join(f'{s.name} ({s.sort})' for s in sources)}; {more}."
        else:
            yield f"What can feed it is {NOT_STATED}."
        capacitors = [one for one in plan.of(Capacitor) if isinstance(one, Capacitor)]
        if capacitors:
            placed = ", ".join(
                f"{one.name} at {one.at.name if one.at else f'a place {NOT_STATED}'}" for one in capacitors
            )
            yield f"Capacitors on it: {placed}."
        places: dict[str, None] = {}
        method = method_words(plan)
        for one in register.others:
            if one.what == "bar":
                places[one.first_end] = None
        at = f" Bars hang at {', '.join(places)}." if places else ""
        yield (
            f"{method[:1].upper()}{method[1:]}.{at} Leads on at once: {register.most} at most, of "
            f"{counted(len(plan.of(Lead)), 'lead')}, {counted(len(plan.of(Bar)), 'bar')} and "
            f"{counted(len(plan.of(Rod)), 'rod')} taken along."
        )
        if plan.no_grounds is not None:
            yield f"The plan states that the work is done without grounds: {'; '.join(plan.no_grounds) or NOT_STATED}."
        people = self._workers()
        holds = sum(step.kind == "hold" for step in self.steps)
        yield (
            f"Work at {', '.join(sites) or f'a place {NOT_STATED}'}"
            + (f" by {', '.join(people)}" if people else "")
            + f"; {counted(len(self.steps), 'step')}, {counted(holds, 'hold point')}."
        )
        left = len(register.left)
        yield (
            "All grounds are off at the end."
            if not left
            else f"At the end {left} are STILL ON: {', '.join(register.left)}."
        )

    def _workers(self) -> list[str]:
        return list(
            dict.fromkeys(
                person.name
                for action in self.plan.actions
                if action.kind in PLACING and isinstance(person := action.slots.get("person"), Person)
            )
        )

    # ---- electrical ----

    def chart(self) -> Chart:
        """The exposure timeline. Who is in place at a step without a value has *not shown* there."""
        exposures: dict[tuple[int, str], list[Exposure]] = {}
        for one in self.electrical.exposures:
            exposures.setdefault((one.at, one.worker), []).append(one)
        reason = Unknown.of(self.electrical.missing or "no exposure was computed for this worker at this step")
        marks: list[tuple[int, Step, Exposure]] = []
        for index, step in enumerate(self.steps):
            found: dict[str, list[Exposure]] = {}
            for at in range(step.first, step.last + 2):  # before, between and after the actions of the step
                for person in self.timeline.people_in_place(at):
                    found.setdefault(person.name, []).extend(exposures.get((at, person.name), ()))
            for worker, values in found.items():
                worst = (
                    max(values, key=lambda one: gravity(one.share))
                    if values
                    else Exposure(worker, step.first, reason, reason)
                )
                marks.append((index, step, worst))
        if not marks:
            return Chart((), (), (), (), ())
        begin, end = marks[0][0], marks[-1][0]
        shown = self.steps[begin : end + 1]
        made = tuple(
            Mark(i - begin, one.worker, one.volts, one.limit, step.number, step.words, one.source, one.between)
            for i, step, one in marks
        )
        stages: list[tuple[int, str]] = []
        for stage in self.sheets.stages:
            inside = [i for i, step in enumerate(shown) if stage.steps[0].first <= step.first <= stage.last]
            if inside:
                stages.append((inside[0], stage.name))
        workers = tuple(dict.fromkeys(mark.worker for mark in made))
        return Chart(tuple(step.number for step in shown), tuple(stages), workers, made, worst_of(made))

    def _rated(self) -> Iterator[Rated]:
        duties = {duty.lead: duty for duty in self.electrical.duties}
        unknown: dict[tuple[str, ...], list[str]] = {}
        none = Unknown.of(self.electrical.missing or "no duty was computed for this lead")
        for lead in self.plan.of(Lead):
            duty = duties.get(lead.name) or Duty(lead.name, none, none)
            step = self.sheets.numbers[duty.at] if duty.at is not None and duty.at < len(self.sheets.numbers) else ""
            shown = [in_words(v, "A") for v in (duty.amps, duty.rating)]
            grave = gravity(duty.share)[0]
            if isinstance(duty.amps, Unknown) or isinstance(duty.rating, Unknown):
                verdict = f"not shown: {not_shown(Unknown(gaps_of(duty.amps, duty.rating)))}"
                unknown.setdefault((*shown, "", verdict, step, duty.source, duty.basis), []).append(lead.name)
                continue
            verdict = ("within its rating", "not shown", "over its rating")[grave]
            if grave == 1 and isinstance(duty.share, (Bounds, Unknown)):
                verdict += f": {not_shown(duty.share)}"
            share = "" if isinstance(duty.share, Unknown) else in_words(duty.share, "%")
            yield Rated(lead.name, shown[0], shown[1], share, verdict, step, duty.source, duty.basis)
        for key, leads in unknown.items():
            yield Rated(", ".join(leads), *key)


def exposure_rows(chart: Chart) -> Iterator[Exposed]:
    """The table beside the chart: each worker's runs of steps at which nothing changes."""
    for worker in chart.workers:
        run: list[Mark] = []
        for mark in [m for m in chart.marks if m.worker == worker]:
            last = run[-1] if run else None
            same = last is not None and last.column + 1 == mark.column
            if last is not None and not (
                same
                and (last.volts, last.limit, last.source, last.between)
                == (mark.volts, mark.limit, mark.source, mark.between)
            ):
                yield _exposed(run, chart)
                run = []
            run.append(mark)
        if run:
            yield _exposed(run, chart)


def _exposed(run: Sequence[Mark], chart: Chart) -> Exposed:
    first, last = run[0], run[-1]
    return Exposed(
        first.worker,
        first.step if first is last else f"{first.step} to {last.step}",
        in_words(first.volts, "V"),
        in_words(first.limit, "V"),
        first.verdict,
        first.source or ("not shown" if first.why else ""),
        first.between or ("not shown" if first.why else ""),
        first.why,
        any(mark in chart.worst for mark in run),
    )


def voltage_words(line: Line) -> str:
    """The line's voltage as stated."""
    return stated(line.voltage, "V", line.place("voltage")) if line.voltage is not None else f"voltage {NOT_STATED}"


def method_words(plan: Plan) -> str:
    """The method declared."""
    if plan.method is None:
        return f"method {NOT_STATED}"
    words = plan.method + (", small-neutral alternative" if plan.small_neutral else "")
    return words + (f", from the {plan.access}" if plan.access else "")


def grouped(findings: Sequence[Finding]) -> list[list[Finding]]:
    """Findings of one rule on one line together, as the printed review has them."""
    kept: dict[tuple[object, ...], list[Finding]] = {}
    for finding in findings:
        key = (finding.span.source.name, finding.span.line, finding.slug, finding.kind, id(finding.waiver))
        kept.setdefault(key, []).append(finding)
    return list(kept.values())


def noted(group: Sequence[Finding]) -> Noted:
    """A group of findings in words."""
    first = group[0]
    span, waiver = first.span, first.waiver
    waived = ""
    if waiver is not None:
        waived = f"waived at {waiver.span.called} until {waiver.until} by {waiver.approved}: “{waiver.because}”"
    also = list(dict.fromkeys(other.message for other in group[1:]))
    if len(also) > MOST_ALIKE:
        also[MOST_ALIKE:] = [f"{len(also) - MOST_ALIKE} more like it"]
    more = f"; the same holds for the {first.count - 1} steps after it" if first.count > 1 else ""
    return Noted(
        first.level.word,
        {Kind.UNREAD: "not read", Kind.IMPOSSIBLE: "cannot be so", Kind.WAIVER: "waiver"}.get(
            first.kind, first.kind.value
        ),
        first.message + more,
        first.slug,
        f"{span.source.name} {span.called}",
        span.source.line_text(span.line).strip()[:300],
        first.title,
        "; ".join(first.cites),
        first.mend,
        tuple(also),
        waived,
    )

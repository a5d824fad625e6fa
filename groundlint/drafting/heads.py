"""A plan from its head: what somebody wrote of the site, kept as it stands, with the steps for it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

from groundlint.drafting.choices import ACCESS, METHODS
from groundlint.drafting.job import Job, job
from groundlint.drafting.policy import Choices
from groundlint.drafting.site import NoSuchJobError
from groundlint.language.reader import Read, in_markdown, read_statements
from groundlint.language.statements import Routine, Stage, Statement, Step
from groundlint.language.statements.headers import Document, Method
from groundlint.language.statements.headers import Plan as Title
from groundlint.language.writer import write_plan
from groundlint.plan.models import Plan, Structure
from groundlint.text import Source
from groundlint.text.edits import Edit, edited, lead_of, line_after, line_before
from groundlint.text.near import nearest
from groundlint.values import Gap


@dataclass(frozen=True)
class Head:
    """A head as written, and its statements. Of a Word document the text is that of the plan in it, laid out."""

    source: Source
    statements: tuple[Statement, ...]
    tradition: Literal["ground", "earth"]

    @staticmethod
    def of(source: Source) -> Head:
        """The head in a source that was read without a problem. `NoSuchJobError` where it has steps already."""
        read: Read = read_statements(source)
        steps = [one for one in read.text.statements if isinstance(one, Step | Stage | Routine)]
        if steps:
            raise NoSuchJobError(f"it has steps already, the first in {steps[0].span.called}; a head has none")
        if source.marks is not None:
            source = Source(source.name, write_plan(read.text))
            read = read_statements(source)
        return Head(source, read.text.statements, read.text.tradition)

    def with_method(self, method: str | None, access: str | None) -> Head:
        """The head with what it does not state of its method. ``method`` and ``access`` are of `drafting.choices`.
        `NoSuchJobError` where it states another."""
        stated = next((one for one in self.statements if isinstance(one, Method)), None)
        words = "single-point small neutral" if method == "small-neutral" else method
        of = f"from the {access}" if access else ""
        if stated is None:
            if words is None:
                return self
            after = [one for one in self.statements if isinstance(one, Title | Document)]
            put: Any = line_after(after[-1].span, "", f"method    {words} {of}".rstrip()) if after else None
            if put is None:
                put = line_before(self.statements[0].span, "", f"method    {words} {of}".rstrip())
            return self._edited(put)
        said = "single-point" if stated.method == "worksite" else str(stated.method)
        said = "small-neutral" if stated.variant and said == "single-point" else said
        for name, mine, asked in (("--method", said, method), ("--from", stated.access and str(stated.access), access)):
            if mine and asked and mine != asked:
                raise NoSuchJobError(f"its method is `{stated.span.text}`, and {name} {asked} is another; drop one")
        if stated.access is None and access:
            end = stated.span.end
            return self._edited((self.source.span(end, end), f" {of}"))
        return self

    def _edited(self, piece: Any) -> Head:
        return Head.of(edited(self.source, [Edit("", (piece,))]))

    # ------------------------------------------------------------- with steps
    def _steps(self, made: Job) -> str:
        read = read_statements(Source("", "\n".join(made.lines()))).text
        return write_plan(replace(read, tradition=self.tradition))

    def text(self, made: Job) -> str:
        """The head as written, and the steps below it; in Markdown, within its last fence."""
        text = self.source.text
        if not in_markdown(self.source):
            return f"{text.rstrip()}\n\n{self._steps(made)}"
        last, margin = self.statements[-1].span, re.match(r"[ \t>]*", lead_of(self.statements[0].span))
        assert margin is not None
        piece = line_after(last, "", "\n".join(f"{margin[0]}{one}".rstrip() for one in self._steps(made).splitlines()))
        return edited(self.source, [Edit("", (piece,))]).text

    def in_parts(self, made: Job) -> list[tuple[str, str]]:
        """The plan under headings: what is stated, then each stage."""
        found = [("The job, the line and what is taken along", self._plain())]
        for part in re.split(r"\n\n(?=stage )", self._steps(made).strip("\n")):
            words = part.strip("\n")
            title = words.split("\n")[0].removeprefix("stage").strip().capitalize()
            found.append((title if words.startswith("stage") else "Routines", f"{words}\n"))
        return found

    def _plain(self) -> str:
        """The head in the plan language alone."""
        if in_markdown(self.source):
            return write_plan(read_statements(self.source).text)
        return f"{self.source.text.rstrip()}\n"

    def plain(self, made: Job) -> str:
        """The whole in the plan language, without a document around it."""
        return f"{self._plain()}\n{self._steps(made)}"

    def markdown(self, made: Job) -> str:
        """The whole as a Markdown procedure."""
        if in_markdown(self.source):
            return self.text(made)
        return "\n".join(f"## {heading}\n\n```tpg\n{text}```\n" for heading, text in self.in_parts(made))


def places_of_work(plan: Plan, named: Sequence[str]) -> list[Structure]:
    """The structures of the route that are named; where none is, the one that the title names. `NoSuchJobError` where
    there is none or several."""
    on = {one.name: one for one in plan.route}
    if not on:
        return []
    for name in named:
        if name not in on:
            near = nearest(name, on)
            hint = f"did you mean {near}?" if near else f"the route has {', '.join(on)}"
            raise NoSuchJobError(f"--at {name}: no structure of the route has that name; {hint}")
    if named:
        return [on[name] for name in dict.fromkeys(named)]
    words = re.findall(r"[\w][\w.-]*[\w]|\w", plan.title or "")
    found = [one for name, one in on.items() if name in words]
    if len(found) != 1:
        names = " and ".join(one.name for one in found) or "no structure of the route"
        raise NoSuchJobError(f"say where the work is: `--at STRUCTURE`; the title names {names}")
    return found


def drafted(plan: Plan, named: Sequence[str], choices: Choices) -> Job:
    """The steps of a plan without any, or what they lack. `NoSuchJobError` for what is not written here."""
    lacks = []
    if plan.method is None:
        lacks.append(Gap("the method, which --method states as well", f"method {next(iter(METHODS))} from pole"))
    elif plan.access is None:
        where = plan.place("method")
        lacks.append(
            Gap("what the work is done from, which --from states as well", f"from {next(iter(ACCESS))}", where)
        )
    works = places_of_work(plan, named)
    made = job(plan, works, choices)
    return Job(lacks=(*lacks, *made.lacks)) if lacks else made

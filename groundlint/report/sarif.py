"""A run as SARIF 2.1.0 (OASIS, Static Analysis Results Interchange Format, version 2.1.0 plus errata 01).

A rule not shown is a result of kind ``fail`` as a broken one is, since here it fails as one does;
``properties.finding`` keeps them apart. ``fixes`` holds an edit only where the plan with it, alone or with its other
edits, was reviewed again and has the finding no more and no new one; what a rule says to do next is
advice, and stands in the message.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from json import dumps
from pathlib import Path
from typing import Any

from groundlint.report.closing import CAUTION
from groundlint.report.record import FindingEntry, Place, PlanEntry, RepairEntry, RuleEntry, Run

SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
BASE = "%SRCROOT%"
"""Name of the folder that the command ran in; SARIF readers put the root of the repository for it."""
FINGERPRINT = "groundlintMeaning/v1"
LEVELS = {"danger": "error", "warning": "warning", "caution": "note", "notice": "note"}
_STATUS = {
    0: "every rule at or above the gate is met, waived or not applicable",
    1: "a rule is broken, or a line could not be read",
    2: "a rule is not shown",
    3: "it could not be done",
}
_CODES = {
    "unread": "A statement could not be taken in; the plan is not clean until it can",
    "impossible": "The plan does not fit itself: a step that can't be done, or two statements that can't both be true",
    "waiver": "A waiver is not what it should be, and waives nothing",
}


def sarif_report(run: Run, root: Path) -> str:
    """The whole run, a line feed at its end. Paths below ``root``, an absolute path, are written relative to it."""
    return dumps(_Log(run, root).log(), separators=(",", ":"), ensure_ascii=False) + "\n"


MOST_RELATED = 12
"""Related lines of a result; a finding of a plan that is wrong throughout can have as many as the plan has steps."""


class _Log:
    def __init__(self, run: Run, root: Path) -> None:
        self.run = run
        self.root = root
        self.artifacts: list[dict[str, Any]] = []
        self.places: dict[str, dict[str, Any]] = {}
        self.known = {rule.rule: rule for rule in run.rules}
        self.rules: list[dict[str, Any]] = []
        self.index: dict[str, int] = {}

    def log(self) -> dict[str, Any]:
        for plan in self.run.plans:
            self._artifact(plan.path)
        results = self._results()
        notifications = [note for plan in self.run.plans if not plan.read for note in self._unread(plan)]
        notifications += [self._notification(fail.path, f"not reviewed: {fail.message}") for fail in self.run.failures]
        driver: dict[str, Any] = {
            "name": "groundlint",
            "version": self.run.version,
            "shortDescription": {"text": "Linter for written temporary protective grounding plans on overhead lines"},
            "fullDescription": {"text": " ".join(CAUTION.split())},
            "rules": self.rules,
            "notifications": [_plain_descriptor("not-reviewed", "A plan was not reviewed, or not the whole of it")],
        }
        invocation: dict[str, Any] = {
            "executionSuccessful": not notifications and self.run.status != 3,
            "exitCode": self.run.status,
            "exitCodeDescription": _STATUS[self.run.status],
        }
        if notifications:
            invocation["toolExecutionNotifications"] = notifications
        return {
            "$schema": SCHEMA,
            "version": "2.1.0",
            "runs": [
                {
                    "tool": {"driver": driver},
                    "invocations": [invocation],
                    "originalUriBaseIds": {BASE: {"description": {"text": "The folder that the command ran in"}}},
                    "artifacts": self.artifacts,
                    "columnKind": "utf16CodeUnits",
                    "results": results,
                }
            ],
        }

    # ---- places

    def _artifact(self, path: str) -> dict[str, Any]:
        """The location of a file, which is kept in the list of artifacts."""
        known = self.places.get(path)
        if known is not None:
            return known
        at = len(self.artifacts)
        if path == "<stdin>":
            self.artifacts.append({"description": {"text": "standard input"}, "roles": ["standardStream"]})
            location: dict[str, Any] = {"index": at}
        else:
            location = self._uri(path)
            self.artifacts.append({"location": location, "roles": ["analysisTarget"]})
            location = {**location, "index": at}
        self.places[path] = location
        return location

    def _uri(self, path: str) -> dict[str, Any]:
        from os.path import normpath
        from urllib.parse import quote

        full = Path(normpath(self.root / path))
        if full.is_relative_to(self.root):
            return {"uri": quote(full.relative_to(self.root).as_posix(), errors="surrogateescape"), "uriBaseId": BASE}
        return {"uri": full.as_uri()}

    def _location(self, place: Place) -> dict[str, Any]:
        physical = {"artifactLocation": self._artifact(place.path)}
        if place.called is not None:  # a region of a Word document would be one of bytes
            return {"physicalLocation": physical, "message": {"text": _sentences(place.called)}}
        region = {
            "startLine": place.line,
            "startColumn": place.utf16_column,
            "endLine": place.end_line,
            "endColumn": place.utf16_end_column,
        }
        return {"physicalLocation": {**physical, "region": region}}

    # ---- findings

    def _results(self) -> list[dict[str, Any]]:
        """Every finding; what several plans have at one place of a file that they use, once."""
        found: list[dict[str, Any]] = []
        shared: set[tuple[Any, ...]] = set()
        for plan in self.run.plans:
            for finding in plan.findings:
                if finding.place.path != plan.path:
                    same = (finding.rule, finding.place, finding.message, finding.fingerprint)
                    if same in shared:
                        continue
                    shared.add(same)
                found.append(self._result(finding))
        return found

    def _result(self, finding: FindingEntry) -> dict[str, Any]:
        location = self._location(finding.place)
        if finding.step:
            location["logicalLocations"] = [{"fullyQualifiedName": finding.step, "kind": "step"}]
        result: dict[str, Any] = {
            "ruleId": finding.rule,
            "ruleIndex": self._rule(finding),
            "kind": "fail",
            "level": LEVELS[finding.level],
            "message": {"text": _sentences(finding.message, finding.next)},
            "locations": [location],
        }
        if finding.related:
            result["relatedLocations"] = [
                {"id": at, **self._location(line.place), "message": {"text": line.words}}
                for at, line in enumerate(finding.related[:MOST_RELATED])
            ]
        if finding.repair is not None and finding.place.called is None:
            result["fixes"] = [self._fix(finding.repair)]
        result["partialFingerprints"] = {FINGERPRINT: finding.fingerprint}
        if finding.waiver is not None:
            waiver = finding.waiver
            result["suppressions"] = [
                {
                    "kind": "inSource",
                    "status": "accepted",
                    "justification": f"{waiver.because} (approved by {waiver.approved}, until {waiver.until})",
                    "location": self._location(waiver.place),
                }
            ]
        properties: dict[str, Any] = {"finding": finding.kind, "signalWord": finding.level}
        if finding.subjects:
            properties["subjects"] = {subject.name: subject.thing for subject in finding.subjects}
        if finding.missing:
            properties["notStated"] = list(finding.missing)
        if finding.provisional:
            properties["provisional"] = True
        result["properties"] = properties
        return result

    def _fix(self, repair: RepairEntry) -> dict[str, Any]:
        changes: dict[str, dict[str, Any]] = {}
        for one in repair.replacements:
            at = self._location(one.place)["physicalLocation"]
            change = changes.setdefault(
                one.place.path, {"artifactLocation": at["artifactLocation"], "replacements": []}
            )
            change["replacements"].append({"deletedRegion": at["region"], "insertedContent": {"text": one.text}})
        return {"description": {"text": _sentences(repair.words)}, "artifactChanges": list(changes.values())}

    def _rule(self, finding: FindingEntry) -> int:
        """Where the finding's rule stands in the list, which holds those of findings alone: the help of every rule
        would be ten times a plan's text."""
        at = self.index.get(finding.rule)
        if at is None:
            at = self.index[finding.rule] = len(self.rules)
            rule = self.known.get(finding.rule)
            plain = _plain_descriptor(finding.rule, _CODES.get(finding.kind, finding.kind))
            self.rules.append(plain if rule is None else _descriptor(rule))
        return at

    # ---- notifications

    def _unread(self, plan: PlanEntry) -> Iterable[dict[str, Any]]:
        found = [finding for finding in plan.findings if finding.kind == "unread"]
        if not found:
            yield self._notification(plan.path, "the plan was not read whole, so it is not clean")
        for finding in found:
            yield {
                **self._notification(finding.place.path, f"not read: {finding.message}"),
                "locations": [self._location(finding.place)],
            }

    def _notification(self, path: str, message: str) -> dict[str, Any]:
        return {
            "descriptor": {"id": "not-reviewed", "index": 0},
            "level": "error",
            "message": {"text": _sentences(message)},
            "locations": [{"physicalLocation": {"artifactLocation": self._artifact(path)}}],
        }


_EXAMPLES = re.compile(r"\n+[ ]+(?:passes|nearmiss|fails|unshown|exempts|reworded|lacks)\b")
"""Where the examples of a rule's text begin, which would be most of a log."""


def help_page(rule: RuleEntry) -> str:
    """What a rule demands, why, by which source, in Markdown; its text without its examples."""
    sources = "; ".join(rule.cites)
    changes = "".join(f"\n- {change}" for change in rule.changes)
    return (
        f"**{rule.level}**: {rule.title}.\n\n{_sentences(rule.because)}\n\n- source: {sources} ({rule.known})\n"
        f"- book: {rule.book}{changes}\n\n```\n{_EXAMPLES.split(rule.text)[0]}\n```\n\n"
        f"`groundlint rules {rule.rule}` shows its examples.\n"
    )


def _descriptor(rule: RuleEntry) -> dict[str, Any]:
    sources = "; ".join(rule.cites)
    text = _sentences(rule.title, rule.because, f"Source: {sources} ({rule.known})", f"Book: {rule.book}")
    return {
        "id": rule.rule,
        "shortDescription": {"text": _sentences(rule.title)},
        "fullDescription": {"text": _sentences(rule.because)},
        "help": {"text": text, "markdown": help_page(rule)},
        "defaultConfiguration": {"level": LEVELS[rule.level]},
        "properties": {"signalWord": rule.level, "cites": list(rule.cites), "tags": ["safety", rule.book]},
    }


def _plain_descriptor(code: str, text: str) -> dict[str, Any]:
    return {"id": code, "shortDescription": {"text": _sentences(text)}, "defaultConfiguration": {"level": "error"}}


def _sentences(*texts: str) -> str:
    """Each text as a sentence; an empty one is left out."""
    return " ".join(
        f"{text[:1].upper()}{text[1:]}" + ("" if text.endswith((".", "?", "!")) else ".") for text in texts if text
    )

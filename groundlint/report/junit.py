"""A run in the XML form of JUnit, for build servers that show it: a suite for each plan, a case for each rule.

The form has no standard; it keeps to the schema ``junit-10.xsd`` of the xUnit plugin of a widely used build server. It
holds no times and no host, so that the same plans give the same bytes.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from groundlint.report.record import FindingEntry, PlanEntry, Run
from groundlint.text import Severity

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def junit_report(run: Run) -> str:
    """The whole run, a line feed at its end.

    A rule that is broken at or above the plan's gate, or not shown, is a failure of that type. What could not be read
    is an error. A rule that never applied, or is waived throughout, is skipped. Findings below the gate are output.
    """
    from xml.etree.ElementTree import Element, indent, tostring

    titles = {rule.rule: rule.title for rule in run.rules}
    root = Element("testsuites", name="groundlint")
    for plan in run.plans:
        root.append(_suite(plan, titles))
    for failure in run.failures:
        suite = Element("testsuite", name=_clean(failure.path), tests="1", failures="0", errors="1", skipped="0")
        case = _case(suite, "the plan can be reviewed", failure.path)
        _add(case, "error", "not reviewed", failure.message, failure.message)
        root.append(suite)
    for total in ("tests", "failures", "errors"):
        root.set(total, str(sum(int(suite.get(total, "0")) for suite in root)))
    indent(root, " ")
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + tostring(root, encoding="unicode") + "\n"


def _suite(plan: PlanEntry, titles: dict[str, str]) -> Element:
    from xml.etree.ElementTree import Element, SubElement

    suite = Element("testsuite", name=_clean(plan.path), file=_clean(plan.path))
    counts = {"tests": 0, "failures": 0, "errors": 0, "skipped": 0}
    properties = SubElement(suite, "properties")
    for name, value in (("books", " ".join(plan.books)), ("gate", plan.gate), ("document", plan.document or "")):
        SubElement(properties, "property", name=name, value=_clean(value))
    by_rule: dict[str, list[FindingEntry]] = {}
    for finding in plan.findings:
        by_rule.setdefault(finding.rule, []).append(finding)
    outcomes = {one.rule: one.outcome for one in plan.outcomes}
    for rule in (*outcomes, *(rule for rule in sorted(by_rule) if rule not in outcomes)):
        counts["tests"] += 1
        title = titles.get(rule)
        case = _case(suite, f"{rule}: {title}" if title else rule, plan.path)
        found = by_rule.get(rule, [])
        open_ = [finding for finding in found if finding.waiver is None]
        failing = [finding for finding in open_ if _fails(finding, plan.gate)]
        if failing:
            unread = any(finding.kind == "unread" for finding in failing)
            word = "error" if unread else "failure"
            counts["errors" if unread else "failures"] += 1
            worst = next((f for f in failing if f.kind != "not shown"), failing[0])
            _add(case, word, worst.kind, worst.message, _lines(failing))
        elif open_:
            SubElement(case, "system-out").text = _clean(_lines(open_))
        elif found:
            counts["skipped"] += 1
            _add(case, "skipped", "waived", "waived in the plan", _lines(found))
        elif outcomes.get(rule) == "not applicable":
            counts["skipped"] += 1
            _add(case, "skipped", "not applicable", "does not apply to this plan", "")
    for name, count in counts.items():
        suite.set(name, str(count))
    return suite


def _fails(finding: FindingEntry, gate: str) -> bool:
    return finding.kind == "unread" or Severity[finding.level.upper()] >= Severity[gate.upper()]


def _case(suite: Element, name: str, path: str) -> Element:
    from xml.etree.ElementTree import SubElement

    return SubElement(suite, "testcase", name=_clean(name), classname=_clean(path), time="0")


def _add(case: Element, tag: str, sort: str, message: str, text: str) -> None:
    from xml.etree.ElementTree import SubElement

    SubElement(case, tag, type=sort, message=_clean(message)).text = _clean(text)


def _lines(findings: Sequence[FindingEntry]) -> str:
    rows = []
    for finding in findings:
        at = finding.place
        place = f"{at.path}:{at.line}:{at.column}" if at.called is None else f"{at.path}: {at.called}"
        rows.append(f"{place}: {finding.level}: {finding.message} [{finding.rule}]")
        if finding.waiver is not None:
            waiver = finding.waiver
            rows.append(
                f"  waived at {waiver.place.called or f'line {waiver.place.line}'} until {waiver.until}"
                f" by {waiver.approved}: {waiver.because}"
            )
        elif finding.next:
            rows.append(f"  next: {finding.next}")
    return "\n".join(rows)


def _clean(text: str) -> str:
    """Characters that XML 1.0 can't hold are replaced."""
    return _NOT_XML.sub("\ufffd", text)

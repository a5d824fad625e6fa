"""Rule and book files with one thing wrong, and the message each deserves (kept as a snapshot to read)."""

from __future__ import annotations

from pathlib import Path

import pytest
from book_folders import BOOK, RULE, load, said, write_book
from syrupy.assertion import SnapshotAssertion

# what is wrong -> (text of the sound rule, what stands there instead)
IN_THE_RULE = {
    "unknown fact": ("point is grounded", "point is groundd"),
    "fact of another kind": ("require  point is grounded", "require  lead is grounded"),
    "value read as a truth": ("require  point is grounded", "require  lead is length"),
    "truth read as a value": ("require  point is grounded", "require  grounded of point = 3"),
    "unknown name": ("where    lead is not on", "where    leed is not on"),
    "feet against amperes": ("point is grounded", "length of lead <= 5 kA"),
    "feet against a bare number": ("point is grounded", "length of lead <= 5"),
    "sum of unlike": ("point is grounded", "length of lead + duty of lead > 5 ft"),
    "unknown unit": ("point is grounded", "length of lead <= 15 fet"),
    "wire size as a quantity": ("point is grounded", "length of lead <= 2 AWG"),
    "quotient of unlike": ("point is grounded", "length of lead / duty of lead > 5 ft"),
    "word of no choice": ("point is grounded", "method of plan = dual-pont"),
    "word where a length stands": ("point is grounded", "length of lead = short"),
    "order of words": ("point is grounded", "method of plan < dual-point"),
    "lead compared with a point": ("point is grounded", "end of lead = lead"),
    "thing as a quantity": ("point is grounded", "lead > 3 ft"),
    "unknown kind": ("point is grounded", "each x leads: x is on"),
    "name bound twice": ("point is grounded", "each lead: lead is on"),
    "name of a setting": ("point is grounded", "each way lead: way is on"),
    "third quantifier": ("point is grounded", "each a lead: each b lead: some c lead: c is on"),
    "and beside since": ("point is grounded", "point is grounded and lead is on since did test point"),
    "not beside since": ("point is grounded", "not lead is on since did test point"),
    "or beside followed by": ("point is grounded", "lead is on or did test point followed by did attach lead"),
    "is not known": ("point is grounded", "length of lead is not known"),
    "past after": ("point is grounded", "after once point is grounded"),
    "step after": ("point is grounded", "after did test point"),
    "it after": ("point is grounded", "after it is by-hand"),
    "after after": ("point is grounded", "after after point is grounded"),
    "unknown step": ("point is grounded", "earlier did tets point"),
    "step slot of another kind": ("point is grounded", "earlier did test lead"),
    "step without that place": ("point is grounded", "earlier did test point to point"),
    "preposition and no more": ("point is grounded", "earlier did test point with"),
    "unknown condition": ("point is grounded", "testedd(point)"),
    "condition with too few": ("point is grounded", "paired(point)"),
    "condition with another kind": ("point is grounded", "paired(lead, point)"),
    "too many times": ("point is grounded", "at least 9 times did test point"),
    "half a time": ("point is grounded", "exactly 1.5 times did test point"),
    "within a length": ("point is grounded", "once did test point within 3 ft"),
    "unclosed parenthesis": ("point is grounded", "(point is grounded"),
    "cut short": ("point is grounded", "point is grounded and"),
    "two conditions": ("point is grounded", "point is grounded lead is on and"),
    "capital letters": ("point is grounded", "point is Grounded"),
    "underscore": ("point is grounded", "joined_to is grounded"),
    "misspelt word": ("point is grounded", "each x lead wher x is on: x is on"),
    "term alone": ("point is grounded", "length of lead"),
    "nothing required": ("require  point is grounded", "require"),
    "placeholder that names nothing": ("{lead} starts", "{led} starts"),
    "placeholder with a wrong fact": ("{lead} starts", "{length of point} starts"),
    "names after the step": ("{lead} starts", "{after names of x lead where x is on} starts"),
    "names of no kind": ("{lead} starts", "{names of leed} starts"),
    "placeholder not closed": ("{lead} starts", "{lead starts"),
    "empty placeholder": ("{lead} starts", "{} starts"),
    "say without quotes": ('"its ground end goes on first"', "its ground end goes on first"),
    "string not closed": ('goes on first"\n  cites', "goes on first\n  cites"),
    "title of a thing": ("The ground end goes", "The ground end {method of plan} goes"),
    "title with an unknown setting": ("The ground end goes", "The {lead-longst} goes"),
    "unknown clause": ("  known ", "  knwon "),
    "clause twice": ("  known    published", "  known    published\n  known    published"),
    "unknown level": ("danger", "dangr"),
    "unknown source word": ("known    published", "known    hearsay"),
    "citation missing": ("  cites    29 CFR 1910.269(n)(6)(i)    # a comment\n", ""),
    "citation empty": ("29 CFR 1910.269(n)(6)(i) ", ""),
    "never asks": ("  at       attach lead to point\n", ""),
    "slot misnamed": ("at       attach lead to point", "at       attach lead to place"),
    "slot narrowed to a strange kind": ("attach lead to point", "attach lead to p lead"),
    "preposition of another step": ("attach lead to point", "attach lead with point"),
    "at unknown step": ("attach lead to point", "atach lead to point"),
    "at every thing": ("at       attach lead to point", "at       every lead"),
    "three things": ("at       attach lead to point", "for      lead, point, p point"),
    "once and at": ("  where    lead is not on", "  once"),
    "while and at": ("  where    lead is not on", "  while    plan is toyed"),
    "while with a step of its own": (
        "at       attach lead to point\n  where    lead is not on",
        "for      lead, point\n  while    it is by-hand",
    ),
    "while with a step now": (
        "at       attach lead to point\n  where    lead is not on",
        "for      lead, point\n  while    once did attach lead to point",
    ),
    "while with after": (
        "at       attach lead to point\n  where    lead is not on",
        "for      lead, point\n  while    after (lead is on)",
    ),
    "words without a reason": ("  passes", "  words    many\n  passes"),
    "say before require": ("  require  point is grounded\n", ""),
    "require without say": ("  passes", "  require  lead is on\n  passes"),
    "no example passes": ("  passes\n    | attach G1 to R1 by H1\n", ""),
    "marked pass": ("    | attach G1 to R1 by H1", "    > attach G1 to R1 by H1"),
    "base plan that is not there": ("  fails\n", "  fails on bse\n"),
    "bad name": ("rule ground-end-first", "rule Ground_End"),
    "name that is a keyword": ("rule ground-end-first", "rule since"),
    "mark what": ("  passes", "  mark     next attach lead\n  passes"),
    "repair of no kind": ("  passes", '  repair   instead "attach {lead}"\n  passes'),
    "repair with no text": ("  passes", "  repair   before attach {lead}\n  passes"),
    "repair that names nothing": ("  passes", '  repair   before "attach {led}"\n  passes'),
    "swap of something else": ("  passes", "  repair   swap leads\n  passes"),
    "repair by a step that is neither first nor last": ("  passes", "  repair   bring attach lead\n  passes"),
    "repair that moves nothing": ("  passes", "  repair   defer\n  passes"),
    "repair that adds beside another step": ("  passes", '  repair   add last attach lead "by H1"\n  passes'),
    "alternative to nothing written": ("  passes", "  repair   or\n  passes"),
    "repair at no step": (
        "at       attach lead to point\n  where    lead is not on",
        "for      lead, point\n  repair   swap ends",
    ),
    "tab": ("  level    danger", "\tlevel    danger"),
    "uneven": ("  known    published", " known    published"),
    "block unknown": ("rule ground-end-first", "rul ground-end-first"),
}

IN_THE_BOOK = {
    "no edition": ('  edition  "first"\n', ""),
    "another name": ("book toy", "book toys"),
    "unknown book clause": ("  scope ", "  scpoe "),
    "setting without reason": ('  because "a long lead whips"', ""),
    "setting without source": ("known common practice", ""),
    "setting with a wrong unit": ("30 ft", "30 fet"),
    "word without choices": ("one of single-point dual-point", ""),
    "word not among its choices": ("way single-point one", "way both one"),
    "setting twice": ("  setting  way", '  setting  lead-longest 3 ft known published because "x"\n  setting  way'),
    "set of no setting": ("  setting  way", '  set  lead-longst 3 ft because "x"\n  setting  way'),
    "set to another dimension": ("  setting  way", '  set  lead-longest 3 kA because "x"\n  setting  way'),
    "raise that lowers": ("  setting  way", '  raise ground-end-first to caution because "x"\n  setting  way'),
    "lower that raises": ("  setting  way", '  lower ground-end-first to danger because "x"\n  setting  way'),
    "raise to no level": ("  setting  way", '  raise ground-end-first to grave because "x"\n  setting  way'),
    "retire what is not there": ("  setting  way", '  retire ground-end-frst because "x"\n  setting  way'),
    "retire one's own": ("  setting  way", '  retire ground-end-first because "x"\n  setting  way'),
    "adopt what is not there": ("  setting  way", "  adopt practise\n  setting  way"),
    "adopt oneself": ("  setting  way", "  adopt toy\n  setting  way"),
    "condition circle": ("book toy", "condition a (p point) means b(p)\ncondition b (p point) means a(p)\nbook toy"),
    "condition twice": ("book toy", "condition a (p point) means p is grounded\n" * 2 + "book toy"),
    "condition of too many": (
        "book toy",
        "condition a (p point, q point, r point, s point) means p is grounded\nbook toy",
    ),
    "condition without means": ("book toy", "condition a (p point) p is grounded\nbook toy"),
    "condition with a loose name": ("book toy", "condition a (p point) means q is grounded\nbook toy"),
}

CONDITIONS = """
condition tested (p point) means once did test p
condition paired (p point, q point) means p is grounded and
  q is grounded
"""


def messages(folder: Path, book: str, rule: str) -> list[str]:
    write_book(folder, "toy", book + CONDITIONS, {"order": rule})
    return said(load(folder, "toy")[1])


def test_the_sound_rule_is_sound(tmp_path: Path) -> None:
    assert messages(tmp_path, BOOK, RULE) == []


@pytest.mark.parametrize("wrong", IN_THE_RULE)
def test_message_for_a_malformed_rule(wrong: str, tmp_path: Path, snapshot: SnapshotAssertion) -> None:
    old, new = IN_THE_RULE[wrong]
    assert old in RULE
    found = messages(tmp_path, BOOK, RULE.replace(old, new, 1))
    assert found
    assert found == snapshot


@pytest.mark.parametrize("wrong", IN_THE_BOOK)
def test_message_for_a_malformed_book(wrong: str, tmp_path: Path, snapshot: SnapshotAssertion) -> None:
    old, new = IN_THE_BOOK[wrong]
    assert old in BOOK
    found = messages(tmp_path, BOOK.replace(old, new, 1), RULE)
    assert found
    assert found == snapshot

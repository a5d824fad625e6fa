"""A new rule to start from: a file that loads as it stands, with a note at each clause on what belongs there."""

from __future__ import annotations

from groundlint.rulebook.rules import slug_problem
from groundlint.text import Diagnostic, Source

TEMPLATE = """\
# A rule to start from. `groundlint rules --language` lists every clause, step, kind of thing and fact.
# `groundlint rules --check --book YOUR-BOOK --books-in FOLDER` runs the examples below.
rule {slug}
  level    caution                           # danger, warning, caution, notice
  title    "What the rule demands, in a few words"
  cites    common practice, no source        # edition and clause; may stand several times
  known    common practice                   # published, common practice, from memory
  because  "What goes wrong in the field when it is broken."
  at       attach lead to point              # when it asks: at a step, for each thing, or once
  where    lead is not on                    # when it applies; leave it out if it always does
  require  lead is inspected                 # what must hold; as many as it takes, each with its `say`
  say      "{{lead}} goes on {{point}} without being inspected"
  mend     "inspect {{lead}} before this step"
  stable   no                                # take this line out once the four kinds of example are there
  passes                                     # met; lines are put after those of bases/base.tpg
    | inspect G1
    | attach G1 to 211 N by H1
  nearmiss                                   # met, and one line away from an example that is not
    | inspect G1 G2
    | attach G1 to 211 N by H1
  fails                                      # broken, at the line marked `>`
    | inspect G2
    > attach G1 to 211 N by H1
  unshown                                    # the plan does not say enough; or `lacks unshown because "..."`
    | # leave out of the plan what the rule asks for
    | attach G1 to 211 N by H1
  exempts                                    # the rule does not apply
    | inspect G1
"""


def scaffold(slug: str) -> str | Diagnostic:
    """The text of a rule file for a new rule, or what is wrong with its name."""
    problem = slug_problem(slug, Source("", slug).span(0, len(slug)))
    return TEMPLATE.format(slug=slug) if problem is None else problem

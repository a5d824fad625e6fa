"""A new rule to start from: a file that loads as it stands, with a note at each clause on what belongs there."""

from __future__ import annotations

from groundlint.rulebook.rules import slug_problem
from groundlint.text import Diagnostic, Source

TEMPLATE = """\
# A rule to start from. `groundlint rules --language` lists every clause, step, kind of thing and fact.
# It stands in a folder that has the name of its book, beside a file `book.book`, which begins so:
#   book mybook
#     title    "The work rules of my company"
#     scope    "overhead lines up to 69 kV"
#     edition  "2026"
#     adopt    practice
# The examples go on from the base plan `bases/base.tpg` of that folder or, where it has none, of an adopted book.
# `groundlint rules --check mybook --books-in FOLDER` runs them; FOLDER is the one in which the book's folder stands.
rule {slug}
  level    caution                           # danger, warning, caution, notice
  title    "What the rule demands, in a few words"
  cites    common practice, no source        # edition and clause; may stand several times
  known    common practice                   # published, common practice, from memory
  because  "What goes wrong in the field when it is broken."
  at       set rod at structure              # when it asks: at a step, at what happens, while something is so, or once
  where    material of structure = wood      # when it applies; leave it out if it always does
  require  distance of step >= 15 ft         # what must hold; as many as it takes, each with its `say`
  say      "{{rod}} is set {{distance of step}} from {{structure}}, nearer than 15 ft"
  mend     "set {{rod}} 15 ft or more from {{structure}}"
  stable   no                                # take this line out once the rule is settled
  passes # met; lines are put after those of bases/base.tpg
    | set R1 at 211, 20 ft from the pole, 6 ft deep
  nearmiss # met, and one line away from an example that is not
    | set R1 at 211, 15 ft from the pole, 6 ft deep
  fails # broken, at the line marked `>`
    > set R1 at 211, 14 ft from the pole, 6 ft deep
  unshown # the plan does not say enough; or `lacks unshown because "..."`
    > set R1 at 211
  exempts # the rule does not apply
    | mount K1 at 211 below the feet
"""


def scaffold(slug: str) -> str | Diagnostic:
    """The text of a rule file for a new rule, or what is wrong with its name."""
    problem = slug_problem(slug, Source("", slug).span(0, len(slug)))
    return TEMPLATE.format(slug=slug) if problem is None else problem

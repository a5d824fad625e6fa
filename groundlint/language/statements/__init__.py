"""What a plan says, statement by statement: the canonical model, of which the JSON schema is published.

Each class is one kind of statement; its docstring is its entry in the language reference. A field is filled by the
statement's own names or by the grammar's clause of the same name (``clause`` in the field's metadata where they
differ). An absent field is not known. Each group of the reference has a module, and all are taken from here.
"""

# ruff: noqa: F403  (the modules hold nothing but what is to be had from here)
from groundlint.language.statements.base import *
from groundlint.language.statements.blocks import *
from groundlint.language.statements.headers import *
from groundlint.language.statements.properties import *
from groundlint.language.statements.steps import *
from groundlint.language.statements.things import *
from groundlint.language.statements.whole import *

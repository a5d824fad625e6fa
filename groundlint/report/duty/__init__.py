"""The calculation record as text, JSON and a table: views of what `groundlint.electrical.record.record` gathers."""

from groundlint.report.duty.data import duty_csv, duty_json
from groundlint.report.duty.entries import Asked, DutyFile, duty_file, status_of
from groundlint.report.duty.text import duty_text

__all__ = ["Asked", "DutyFile", "duty_csv", "duty_file", "duty_json", "duty_text", "status_of"]

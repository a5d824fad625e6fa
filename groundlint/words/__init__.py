"""How things are put into words, for messages, asks, reports and pages: names in a row, facts together, near words."""

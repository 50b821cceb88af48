"""Numbers to text, tables, drawings and pages. Nothing is decided here."""

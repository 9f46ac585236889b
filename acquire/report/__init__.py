"""What is told of a set or a session: report, tables, charts, in HTML, PDF and text."""

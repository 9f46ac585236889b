"""The index of sessions: a database made of journals alone, to find parts and verdicts again."""

"""What has happened in a session: one fold of its records, for whoever asks.

The bus's snapshot, the board (live, late and replayed), the report, the index and the what-if all
read this one state, so that none of them knows of an undo that another has not heard of.
"""

"""The record through today's code: redo it, name the first difference, ask what if."""

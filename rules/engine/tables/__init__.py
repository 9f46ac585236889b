"""The tables of an engine sheet, one file each: keys, values, and what is usual."""

"""What people hand in: bench, set, sheet, profile, trace and leads' files, read and checked."""

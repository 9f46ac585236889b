"""What a page shows, worked out from the board: pure."""

"""What has been heard of the benches: the hub, the fold, what is kept for the pages."""

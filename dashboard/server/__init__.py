"""The process that serves the pages and the live WebSockets."""

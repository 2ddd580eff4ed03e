"""What the editor runs on: jobs, turns of the event loop, files, settings, reports."""

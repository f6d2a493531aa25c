"""The job file: its models, and reading it with file and line."""

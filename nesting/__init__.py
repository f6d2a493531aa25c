"""From measured walls to a proved cutting plan for sheet goods."""

__version__ = "0.1.0"

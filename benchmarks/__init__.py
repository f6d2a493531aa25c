"""How good the plans are: families of jobs, peers on the same jobs, and one command (``run.py``)."""

"""`nesting start`: a job file asked for at a terminal, in the order in which one measures."""

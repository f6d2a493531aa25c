"""The drawings: one page for each sheet, and what is printed beside them."""

"""What is said about a plan: waste, order, parts, comparison, cautions; text and data."""

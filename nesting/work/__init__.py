"""The whole way from a job to a checked plan, and the comparison of the stock."""

"""From a cutting tree to cuts in an order that can be made, with tape readings and rails."""

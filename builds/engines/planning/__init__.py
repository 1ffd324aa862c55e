"""The planning engine: a shop's work in, a plan with a reason for every start out."""

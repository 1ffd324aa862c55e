"""Plain projects, as published for comparison: counted resources instead of people, no calendar."""

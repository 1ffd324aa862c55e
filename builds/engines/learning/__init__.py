"""What the shop's own hours say about the hours the work is planned with."""

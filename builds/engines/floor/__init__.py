"""The floor, worked out: what a task is after what was done to it, why one can't start, what readings say."""

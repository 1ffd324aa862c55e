"""What `measure` measures, one part a file. Each part gives lines: what, today's figure, the goal."""
